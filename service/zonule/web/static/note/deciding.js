// Misheard terms and answers: one key or one press decides, and the note is read again.
import { readNow, readWith } from "./reading.js";
import { showWords } from "./linking.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("note"));

/** @param {string} name @param {string} value */
function drop(name, value) {
  form.querySelectorAll(`input[name="${CSS.escape(name)}"]`).forEach((held) => {
    if (held instanceof HTMLInputElement && (!value || held.value === value)) held.remove();
  });
}

/** Keeps an accepted reading for the unit to learn from. @param {string} heard @param {string} reading */
function remember(heard, reading) {
  const token = /** @type {HTMLMetaElement} */ (document.querySelector("meta[name=csrf-token]")).content;
  void fetch("/api/v1/corrections", {
    method: "POST",
    headers: { "X-CSRF-Token": token, "Content-Type": "application/json" },
    body: JSON.stringify({ kind: "repair_accepted", heard, reading }),
  }).catch(() => undefined);
}

/** @param {HTMLElement} repair @param {boolean} accept */
function decide(repair, accept) {
  const { heard = "", reading = "" } = repair.dataset;
  repair.removeAttribute("data-open");
  if (accept) remember(heard, reading);
  const next = /** @type {HTMLElement | null} */ (document.querySelector("#repairs [data-open]"));
  next?.focus();
  void readWith(accept ? "accepted" : "keep", heard);
}

/** @param {MouseEvent} event */
function onClick(event) {
  const button = /** @type {Element} */ (event.target).closest("button");
  if (!button || button.form !== form) return;
  const repair = /** @type {HTMLElement | null} */ (button.closest(".repair"));
  const { dataset, name, value } = button;
  if (repair && ("accept" in dataset || "refuse" in dataset)) decide(repair, "accept" in dataset);
  else if ("unkeep" in dataset) drop("keep", value), void readNow();
  else if ("answerButton" in dataset) void readWith(name, value);
  else if ("undo" in dataset) drop(`answer.${value}`, ""), void readNow();
  else return;
  event.preventDefault();
}

/** @param {KeyboardEvent} event */
function onKey(event) {
  const target = /** @type {HTMLElement} */ (event.target);
  if (event.key === "Enter" && target.matches("[data-answer], #label")) {
    event.preventDefault();
    void readNow().then(() => form.dispatchEvent(new CustomEvent("decided")));
  }
  const repair = /** @type {HTMLElement | null} */ (target.closest("[data-open]"));
  if (!repair || event.ctrlKey || event.altKey || event.metaKey) return;
  const key = event.key.toLowerCase();
  if (key !== "a" && key !== "r") return;
  event.preventDefault();
  decide(repair, key === "a");
}

export function decideByKeyAndPress() {
  form.addEventListener("click", onClick);
  form.addEventListener("keydown", onKey);
  form.addEventListener("change", (event) => {
    const target = /** @type {Element} */ (event.target);
    if (target.matches("[data-answer], #label")) {
      form.dispatchEvent(new CustomEvent("decided"));
      void readNow();
    }
  });
  document.getElementById("repairs")?.addEventListener("focusin", (event) => {
    const repair = /** @type {Element} */ (event.target).closest("[data-open]");
    if (repair) showWords(repair.id, false);
  });
}
