// Has the form read while it is filled in, and shows what came back.
import { follow } from "./marks.js";

const PAUSE_MS = 120;
const PARTS = ["head", "repairs", "order", "side", "tally"];
const form = /** @type {HTMLFormElement} */ (document.getElementById("note"));
const field = /** @type {HTMLTextAreaElement} */ (document.getElementById("dictation"));
const marks = /** @type {HTMLElement} */ (document.getElementById("marks"));
const spoken = /** @type {HTMLElement} */ (document.getElementById("spoken"));
const problem = /** @type {HTMLElement | null} */ (document.getElementById("label-problem"));
let timer = 0;
let number = 0;
/** @type {AbortController | null} */
let running = null;

/** Reads soon: after a short pause in typing or speaking. */
export function readSoon() {
  clearTimeout(timer);
  timer = setTimeout(() => void readNow(), PAUSE_MS);
}

/** What stands in the form. */
function filled() {
  return new URLSearchParams(/** @type {any} */ (new FormData(form)));
}

/** Reads what stands in the form now. */
export async function readNow() {
  clearTimeout(timer);
  const mine = (number += 1);
  running?.abort();
  running = new AbortController();
  try {
    const token = /** @type {HTMLMetaElement} */ (document.querySelector("meta[name=csrf-token]")).content;
    const answer = await fetch("/notes/reading", {
      method: "POST",
      body: filled(),
      headers: { "X-CSRF-Token": token, Accept: "application/json" },
      signal: running.signal,
    });
    if (mine !== number) return;
    if (answer.ok) show(await answer.json());
    else say(answer.status === 401 || answer.redirected ? "You are signed out: sign in again in another tab; the words stay here." : "The reading failed; the words stay here.");
  } catch (fault) {
    if (!(fault instanceof DOMException)) say("The service does not answer; the words stay here.");
  }
}

/** Reads with a field added, which the answer of the reading then carries itself. @param {string} name @param {string} value */
export async function readWith(name, value) {
  const held = document.createElement("input");
  Object.assign(held, { type: "hidden", name, value });
  form.append(held);
  form.dispatchEvent(new CustomEvent("decided"));
  await readNow();
  held.remove();
  form.dispatchEvent(new CustomEvent("decided"));
}

/** @param {string} sentence */
function say(sentence) {
  spoken.textContent = sentence;
  const shown = document.querySelector("[data-became-text]");
  if (shown) shown.textContent = sentence;
}

/** @returns {Map<string, string>} */
function states() {
  const items = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("#order [data-item]"));
  return new Map([...items].map((item) => [item.dataset.item ?? "", item.dataset.state ?? ""]));
}

/** @param {Record<string, string>} parts */
function show(parts) {
  const before = states();
  const place = placeOfFocus();
  const typed = typedAnswers();
  marks.innerHTML = parts.marks;
  follow(marks, field.value);
  for (const name of PARTS) /** @type {HTMLElement} */ (document.getElementById(name)).innerHTML = parts[name];
  if (problem) problem.textContent = parts.label_problem.trim();
  document.getElementById("label")?.toggleAttribute("aria-invalid", Boolean(parts.label_problem.trim()));
  typed.forEach(putBack);
  putFocus(place);
  announce(before);
  form.dispatchEvent(new CustomEvent("read"));
}

/** Answers being typed, which the next reading must not wipe out. */
function typedAnswers() {
  const held = document.activeElement;
  if (!(held instanceof HTMLInputElement) || !held.matches("[data-answer]")) return [];
  return [{ name: held.name, value: held.value }];
}

/** @param {{name: string, value: string}} typed */
function putBack(typed) {
  const field = form.querySelector(`[data-answer][name="${CSS.escape(typed.name)}"]`);
  if (field instanceof HTMLInputElement) field.value = typed.value;
}

/** The field or item that has the focus, and the one to go to when it is gone. */
function placeOfFocus() {
  const held = document.activeElement;
  const inside = held?.closest("#order, #repairs, #side");
  if (!held || !inside) return null;
  return { id: held.id, name: held.getAttribute("name"), inside: inside.id };
}

/** @param {ReturnType<typeof placeOfFocus>} place */
function putFocus(place) {
  if (!place || document.activeElement !== document.body) return;
  const again = (place.id && document.getElementById(place.id)) || null;
  const open = document.querySelector(place.inside === "repairs" ? "#repairs [data-open]" : "#order .question input, #order .question button");
  const next = again ?? open ?? document.querySelector("#save");
  if (next instanceof HTMLElement) next.focus({ preventScroll: place.inside !== "repairs" });
}

/** Tells, to ears too, what the reading newly found stated. @param {Map<string, string>} before */
function announce(before) {
  const told = [];
  for (const item of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("#order [data-item]"))) {
    const stated = item.dataset.state === "stated" || item.dataset.state === "none";
    const was = before.get(item.dataset.item ?? "");
    if (stated && was !== "stated" && was !== "none") {
      item.classList.add("fresh");
      told.push(item.dataset.label);
    }
  }
  const tally = document.getElementById("tally")?.textContent?.replace(/\s+/g, " ").trim() ?? "";
  spoken.textContent = told.length ? `Stated now: ${told.join(", ")}. ${tally}` : "";
}
