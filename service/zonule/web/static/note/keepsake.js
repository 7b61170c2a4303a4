// Words that were not saved yet survive a reload: in this tab only, under the note's key, forgotten on signing out.
const PREFIX = "zonule.note.";
let closed = false;

/** @typedef {{version: string, fields: [string, string][]}} Kept */

/** @param {string} key @param {Kept} kept */
export function keep(key, kept) {
  if (closed) return;
  try {
    sessionStorage.setItem(PREFIX + key, JSON.stringify(kept));
  } catch {
    // A full or forbidden storage: the words stay in the field.
  }
}

/** @param {string} key @returns {Kept | null} */
export function kept(key) {
  try {
    return JSON.parse(sessionStorage.getItem(PREFIX + key) ?? "null");
  } catch {
    return null;
  }
}

/** @param {string} key */
export function forget(key) {
  try {
    sessionStorage.removeItem(PREFIX + key);
  } catch {
    // Nothing was kept.
  }
}

/** @param {(name: string) => boolean} chosen */
function forgetWhere(chosen) {
  try {
    for (const name of Object.keys(sessionStorage)) if (chosen(name)) sessionStorage.removeItem(name);
  } catch {
    // Nothing was kept.
  }
}

/** Forgets the words of all notes, and keeps none from here on. */
export function forgetAll() {
  closed = true;
  forgetWhere((name) => name.startsWith(PREFIX));
}

/** Forgets the words of everybody but the one who is signed in. @param {string} user */
export function forgetOthers(user) {
  forgetWhere((name) => name.startsWith(PREFIX) && !name.startsWith(`${PREFIX}${user}/`));
}
