// The page of a note: words, record, eye and lens kept in step.
import { takeChanges } from "./changing.js";
import { decideByKeyAndPress } from "./deciding.js";
import { takeFiles } from "./files.js";
import { forget, keep, kept } from "./keepsake.js";
import { linkValuesAndWords } from "./linking.js";
import { neverScrollInside } from "./grow.js";
import { follow } from "./marks.js";
import { readNow, readSoon } from "./reading.js";
import { takeRecordings } from "./recording.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("note"));
const field = /** @type {HTMLTextAreaElement} */ (document.getElementById("dictation"));
const marks = /** @type {HTMLElement} */ (document.getElementById("marks"));
const { note: key = "", version = "" } = form.dataset;
const editable = "editable" in form.dataset;
const KEPT = /^(dictation|label|keep|accepted|answer\..+)$/;

/** @returns {[string, string][]} what a reload must bring back */
function fields() {
  const held = [...new FormData(form)].filter(([name, value]) => KEPT.test(name) && value !== "");
  return held.map(([name, value]) => [name, String(value)]);
}

let before = JSON.stringify(fields());

/** Keeps what is not saved, and says so. */
function change() {
  const now = fields();
  const unsaved = JSON.stringify(now) !== before;
  const base = /** @type {HTMLInputElement} */ (form.elements.namedItem("base_version")).value;
  const accepted = now.filter(([name]) => name === "accepted");
  if (unsaved) keep(key, { version: base, fields: now });
  else if (accepted.length) keep(key, { version: base, fields: accepted });
  else forget(key);
  const saved = document.getElementById("saved");
  if (saved) saved.textContent = unsaved ? "Not saved yet" : (saved.dataset.saved ?? "");
  document.querySelectorAll("[data-unsaved]").forEach((told) => told.toggleAttribute("hidden", !unsaved));
  document.querySelectorAll("[data-sign] button").forEach((button) => button.toggleAttribute("disabled", unsaved));
}

/** After a save only what was decided about misheard terms is still of this tab alone. */
function settle() {
  for (const old of [key, form.dataset.new ?? ""]) {
    const accepted = (kept(old)?.fields ?? []).filter(([name]) => name === "accepted");
    forget(old);
    if (accepted.length) keep(key, { version, fields: accepted });
  }
}

/** @param {string} name @param {string} value */
function put(name, value) {
  const there = form.elements.namedItem(name);
  if (there === field) field.value = value;
  else if (there instanceof HTMLInputElement && name === "label") there.value = value;
  else {
    const hidden = document.createElement("input");
    Object.assign(hidden, { type: "hidden", name, value });
    hidden.dataset.broughtBack = "";
    form.append(hidden);
  }
}

/** Brings back what a reload would have lost. Words of an earlier version are saved as a change of that version. */
async function bringBack() {
  const held = kept(key);
  if (!held) return;
  const whole = held.fields.some(([name]) => name === "dictation");
  if (whole) {
    form.querySelectorAll("input[name=keep], input[name=accepted], input[name^='answer.']").forEach((old) => old.remove());
    /** @type {HTMLInputElement} */ (form.elements.namedItem("base_version")).value = held.version;
  }
  held.fields.forEach(([name, value]) => put(name, value));
  follow(marks, field.value);
  await readNow();
  form.querySelectorAll("[data-brought-back]").forEach((hidden) => hidden.remove());
  if (!whole) before = JSON.stringify(fields());
  change();
}

/** @param {string} selector @param {number} step */
function goTo(selector, step) {
  const all = /** @type {HTMLElement[]} */ ([...document.querySelectorAll(selector)]);
  const at = all.findIndex((one) => one.contains(document.activeElement));
  const next = all[(at + step + all.length) % all.length] ?? all[0];
  const inside = /** @type {HTMLElement | null} */ (next?.matches("[tabindex]") ? next : next?.querySelector("input, button"));
  inside?.focus();
}

/** @param {KeyboardEvent} event */
function onKey(event) {
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s" && editable) form.requestSubmit(document.getElementById("save"));
  else if (event.key === "F8") goTo("#order .question:not(.settled):has(input, button)", event.shiftKey ? -1 : 1);
  else if (event.key === "F9") goTo("#repairs [data-open]", 1);
  else if (event.key === "F2") {
    const inWords = document.activeElement === field;
    const first = /** @type {HTMLElement | null} */ (document.querySelector("#order button, #order input"));
    (inWords ? first : field)?.focus();
  } else if (event.key === "Escape" && !document.querySelector("dialog[open]")) field.focus();
  else return;
  event.preventDefault();
}

neverScrollInside(field);
linkValuesAndWords();
takeRecordings();
document.addEventListener("keydown", onKey);
if (editable) {
  decideByKeyAndPress();
  takeFiles();
  takeChanges();
  field.addEventListener("input", () => {
    follow(marks, field.value);
    change();
    readSoon();
  });
  form.addEventListener("decided", change);
  form.addEventListener("read", change);
  form.addEventListener("submit", (event) => {
    change();
    if ("sending" in form.dataset) event.preventDefault(); // a second press while the first is on its way
    form.dataset.sending = "";
  });
  addEventListener("pageshow", () => delete form.dataset.sending);
  if ("justSaved" in form.dataset) settle();
  void bringBack().then(() => {
    if (field.value === field.defaultValue || kept(key)) return;
    follow(marks, field.value); // typed before this script was there
    change();
    readSoon();
  });
} else forget(key);
