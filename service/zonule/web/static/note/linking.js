// A value shows its words, words show their value; where the words have a time, the recording plays from there.
import { offerChange } from "./changing.js";
import { markAt, refsOf, wordsOf } from "./marks.js";
import { playFrom } from "./recording.js";

const field = /** @type {HTMLTextAreaElement} */ (document.getElementById("dictation"));
const marks = /** @type {HTMLElement} */ (document.getElementById("marks"));
const became = /** @type {HTMLElement} */ (document.querySelector("[data-became-text]"));
const sheet = /** @type {HTMLElement} */ (document.getElementById("sheet"));

function dim() {
  document.querySelectorAll(".lit").forEach((lit) => lit.classList.remove("lit"));
}

/** @param {Element} element */
function scrollTo(element) {
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  element.scrollIntoView({ block: "nearest", behavior: calm ? "auto" : "smooth" });
}

/** @param {HTMLElement} mark */
function showInSheet(mark) {
  const top = mark.offsetTop - sheet.clientHeight / 3;
  if (mark.offsetTop < sheet.scrollTop || mark.offsetTop + 40 > sheet.scrollTop + sheet.clientHeight) {
    sheet.scrollTop = Math.max(0, top);
  }
}

/**
 * Lights up the words of a value, doubt or misheard term.
 * @param {string} ref @param {boolean} select whether the field takes them as its selection
 */
export function showWords(ref, select) {
  dim();
  const found = wordsOf(marks, ref);
  found.forEach(({ mark }) => mark.classList.add("lit"));
  const own = found.filter(({ mark }) => mark.dataset.own?.split(" ").includes(ref));
  const [first] = own.length ? own : found;
  if (!first) return;
  showInSheet(first.mark);
  scrollTo(sheet);
  became.textContent = first.mark.dataset.became ?? "";
  if (select) {
    field.focus({ preventScroll: true });
    field.setSelectionRange(first.start, (own.at(-1) ?? first).end);
  }
}

/** Shows what the words at the caret became. */
function showValue() {
  if (document.activeElement !== field) return;
  const mark = markAt(marks, field.selectionStart);
  dim();
  if (!mark) {
    became.textContent = field.value ? "These words are in no mark." : "";
    return;
  }
  mark.classList.add("lit");
  became.textContent = mark.dataset.became ?? "";
  for (const ref of refsOf(mark)) document.getElementById(ref)?.classList.add("lit");
  const first = refsOf(mark).map((ref) => document.getElementById(ref)).find(Boolean);
  if (first && !first.closest("#repairs")) scrollTo(first);
}

/** @param {MouseEvent} event */
function onClick(event) {
  const target = /** @type {Element} */ (event.target);
  const value = /** @type {HTMLElement | null} */ (target.closest("[data-value]"));
  const doubt = /** @type {HTMLElement | null} */ (target.closest("[data-doubt]"));
  const ref = value?.dataset.value ?? doubt?.dataset.doubt;
  if (!ref) return;
  showWords(ref, event.detail > 0 && !matchMedia("(pointer: coarse)").matches);
  const chip = document.getElementById(ref);
  if (chip?.dataset.told) {
    became.textContent = chip.dataset.told;
    offerChange(chip);
  }
  document.querySelectorAll(`[data-value="${ref}"]`).forEach((shown) => shown.classList.add("lit"));
  const time = chip?.dataset.time;
  if (time !== undefined) playFrom(Number(time));
}

export function linkValuesAndWords() {
  document.addEventListener("click", onClick);
  field.addEventListener("click", showValue);
  field.addEventListener("keyup", (event) => {
    if (event.key.startsWith("Arrow") || event.key === "Home" || event.key === "End") showValue();
  });
}
