// A recording chosen from this machine: it is played here and sent nowhere.
const player = /** @type {HTMLAudioElement} */ (document.getElementById("recording"));
const chooser = /** @type {HTMLInputElement} */ (document.getElementById("recording-file"));
let address = "";

/** @param {number} seconds into the recording */
export function playFrom(seconds) {
  if (!address) return;
  player.currentTime = seconds;
  void player.play().catch(() => undefined);
}

export function takeRecordings() {
  chooser.addEventListener("change", () => {
    const [file] = chooser.files ?? [];
    if (!file) return;
    if (address) URL.revokeObjectURL(address);
    address = URL.createObjectURL(file);
    player.src = address;
    player.hidden = false;
  });
}
