// A value that was read wrongly is answered by another; the words stay as they were said.
import { readWith } from "./reading.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("note"));
const change = document.getElementById("change");
const field = /** @type {HTMLInputElement | null} */ (document.getElementById("change-to"));
let slot = "";

/** Offers to change the values of a slot; a list is changed as a whole. @param {HTMLElement} chip */
export function offerChange(chip) {
  if (!change || !field || !chip.dataset.slot) return;
  slot = chip.dataset.slot;
  const alike = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(`#order [data-slot="${CSS.escape(slot)}"]`));
  field.value = [...alike].map((one) => one.dataset.typed).join("; ");
  change.hidden = false;
}

function take() {
  if (!change || !field || !slot) return;
  change.hidden = true;
  void readWith(`answer.${slot}`, field.value);
}

export function takeChanges() {
  document.getElementById("change-take")?.addEventListener("click", take);
  field?.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    take();
  });
  form.addEventListener("input", (event) => {
    if (change && event.target !== field) change.hidden = true;
  });
}
