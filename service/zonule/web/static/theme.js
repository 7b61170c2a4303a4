// Sets the chosen look before anything is painted; without a choice the system's own stands.
(() => {
  try {
    const chosen = localStorage.getItem("zonule.theme");
    if (chosen === "light" || chosen === "dark") document.documentElement.dataset.theme = chosen;
  } catch {
    // No storage: the system's look stands.
  }
})();
