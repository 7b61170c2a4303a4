// Words from a file that is opened or dropped, and a lens label from a picture.
import { readNow } from "./reading.js";

const field = /** @type {HTMLTextAreaElement} */ (document.getElementById("dictation"));
const sheet = /** @type {HTMLElement} */ (document.getElementById("sheet"));
const LARGEST = 1_000_000;

/** @param {string} sentence */
function say(sentence) {
  const shown = document.querySelector("[data-became-text]");
  if (shown) shown.textContent = sentence;
}

/** Puts the words of a file behind those that stand there: nothing is overwritten. @param {File} file */
async function takeText(file) {
  if (file.size > LARGEST) return say("Expected a text of at most 1 MB; split it.");
  const text = new TextDecoder("utf-8", { fatal: true });
  try {
    const words = text.decode(await file.arrayBuffer()).replace(/\r\n?/g, "\n");
    if (words.includes("\0")) throw new TypeError("binary");
    const between = field.value && !field.value.endsWith("\n") ? "\n" : "";
    field.setRangeText(between + words, field.value.length, field.value.length, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.focus();
  } catch {
    say("Expected a text file in UTF-8, SRT or VTT; export it as text.");
  }
}

/** @param {HTMLInputElement} chooser @param {(file: File) => Promise<void> | void} take */
function onChoice(chooser, take) {
  chooser.addEventListener("change", () => {
    const [file] = chooser.files ?? [];
    if (file) void take(file);
    chooser.value = "";
  });
}

/** Has a picture decoded and puts its code into the field. @param {File} file */
async function takePicture(file) {
  const told = /** @type {HTMLElement} */ (document.getElementById("picture-problem"));
  const token = /** @type {HTMLMetaElement} */ (document.querySelector("meta[name=csrf-token]")).content;
  const body = new FormData();
  body.append("csrf_token", token);
  body.append("picture", file);
  told.textContent = "Reading the picture …";
  try {
    const answer = await fetch("/notes/label", { method: "POST", body, headers: { "X-CSRF-Token": token } });
    const { code, problem } = await answer.json();
    told.textContent = problem ?? "";
    if (!code) return;
    /** @type {HTMLInputElement} */ (document.getElementById("label")).value = code;
    field.form?.dispatchEvent(new CustomEvent("decided"));
    await readNow();
  } catch {
    told.textContent = "The picture could not be read; scan or type the code.";
  }
}

export function takeFiles() {
  const text = /** @type {HTMLInputElement | null} */ (document.getElementById("text-file"));
  const picture = /** @type {HTMLInputElement | null} */ (document.getElementById("label-picture"));
  if (text) onChoice(text, takeText);
  if (picture) onChoice(picture, takePicture);
  sheet.addEventListener("dragover", (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    sheet.classList.add("dropping");
  });
  sheet.addEventListener("dragleave", () => sheet.classList.remove("dropping"));
  sheet.addEventListener("drop", (event) => {
    sheet.classList.remove("dropping");
    const [file] = event.dataTransfer?.files ?? [];
    if (!file) return;
    event.preventDefault();
    void takeText(file);
  });
}
