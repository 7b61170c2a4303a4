// What every page has: the look, the help, printing, and forgetting unsaved words on signing out.
import { forgetAll, forgetOthers } from "./note/keepsake.js";

const root = document.documentElement;

/** The look that is shown now. */
function shownTheme() {
  return root.dataset.theme ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
}

/** Turns to the other look and remembers it. */
function turnTheme() {
  const next = shownTheme() === "dark" ? "light" : "dark";
  root.dataset.theme = next;
  try {
    localStorage.setItem("zonule.theme", next);
  } catch {
    // Without storage it holds for this page.
  }
}

/** @param {EventTarget | null} target */
function isTyping(target) {
  return target instanceof HTMLElement && target.matches("input, textarea, select, [contenteditable]");
}

const help = /** @type {HTMLDialogElement} */ (document.getElementById("help"));
if (document.body.dataset.user) forgetOthers(document.body.dataset.user);
document.querySelector("[data-theme-toggle]")?.addEventListener("click", turnTheme);
document.querySelector("[data-help]")?.addEventListener("click", () => help.showModal());
document.addEventListener("keydown", (event) => {
  if (event.key === "?" && !isTyping(event.target) && !help.open) {
    event.preventDefault();
    help.showModal();
  }
});
document.querySelectorAll("[data-print]").forEach((button) => {
  /** @type {HTMLElement} */ (button).hidden = false;
  button.addEventListener("click", () => print());
});
document.querySelector("[data-sign-out]")?.addEventListener("submit", forgetAll);
document.querySelector("[data-day] select")?.addEventListener("change", (event) => {
  /** @type {HTMLSelectElement} */ (event.target).form?.requestSubmit();
});
