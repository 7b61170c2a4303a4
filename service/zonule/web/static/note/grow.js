// Browsers without `field-sizing` scroll a full field inside itself, away from its marks: it is put back at once.
/** @param {HTMLTextAreaElement} field */
export function neverScrollInside(field) {
  field.addEventListener("scroll", () => {
    field.scrollTop = 0;
  });
}
