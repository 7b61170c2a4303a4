// The marks under the words: they follow each keystroke at once, until the next reading brings new ones.

/** @param {string} one @param {string} other */
function commonStart(one, other) {
  const most = Math.min(one.length, other.length);
  let at = 0;
  while (at < most && one[at] === other[at]) at += 1;
  return at;
}

/** @param {string} one @param {string} other @param {number} start */
function commonEnd(one, other, start) {
  const most = Math.min(one.length, other.length) - start;
  let count = 0;
  while (count < most && one[one.length - 1 - count] === other[other.length - 1 - count]) count += 1;
  return count;
}

/**
 * The text node and offset at a position of the marks.
 * @param {Node} root @param {number} position @returns {[Node, number]}
 */
function pointAt(root, position) {
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  let left = position;
  /** @type {Text | null} */
  let node = null;
  while (walker.nextNode()) {
    node = /** @type {Text} */ (walker.currentNode);
    if (left <= node.length) return [node, left];
    left -= node.length;
  }
  return node ? [node, node.length] : [root, 0];
}

/**
 * Brings the marked text to the text of the field, so that every mark stays on its words.
 * @param {HTMLElement} marks @param {string} text
 */
export function follow(marks, text) {
  const shown = (marks.textContent ?? "").replace(/\n$/, "");
  if (shown === text) return;
  const start = commonStart(shown, text);
  const end = commonEnd(shown, text, start);
  const range = document.createRange();
  range.setStart(...pointAt(marks, start));
  range.setEnd(...pointAt(marks, shown.length - end));
  range.deleteContents();
  range.insertNode(document.createTextNode(text.slice(start, text.length - end)));
}

/**
 * The marked words at a position of the text, or none.
 * @param {HTMLElement} marks @param {number} position @returns {HTMLElement | null}
 */
export function markAt(marks, position) {
  let at = 0;
  for (const piece of marks.childNodes) {
    const end = at + (piece.textContent?.length ?? 0);
    if (position >= at && position < end) return piece instanceof HTMLElement ? piece : null;
    at = end;
  }
  return null;
}

/** @param {Element} mark */
export function refsOf(mark) {
  return (mark.getAttribute("data-refs") ?? "").split(" ").filter(Boolean);
}

/**
 * The marked words that carry a reference, each with its place in the text.
 * @param {HTMLElement} marks @param {string} ref
 */
export function wordsOf(marks, ref) {
  /** @type {{mark: HTMLElement, start: number, end: number}[]} */
  const found = [];
  let at = 0;
  for (const piece of marks.childNodes) {
    const end = at + (piece.textContent?.length ?? 0);
    if (piece instanceof HTMLElement && refsOf(piece).includes(ref)) found.push({ mark: piece, start: at, end });
    at = end;
  }
  return found;
}
