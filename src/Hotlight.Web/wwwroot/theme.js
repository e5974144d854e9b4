// The theme this browser keeps: dark beside an image, light for the office. It runs before the page is drawn, so that nothing flashes in a dark room.
(() => {
  const keptAs = "hotlight.theme";
  /** @returns {"dark" | "light"} */
  const kept = () => {
    try {
      return localStorage.getItem(keptAs) === "light" ? "light" : "dark";
    } catch {
      return "dark";
    }
  };
  /** @param {"dark" | "light"} theme */
  const show = (theme) => {
    document.documentElement.dataset.theme = theme;
    document.querySelector("meta[name=color-scheme]")?.setAttribute("content", theme);
    for (const button of document.querySelectorAll("[data-theme-choice]")) {
      button.setAttribute("aria-pressed", String(theme === "light"));
    }
  };
  show(kept());
  document.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest("[data-theme-choice]")) {
      const next = kept() === "light" ? "dark" : "light";
      try {
        localStorage.setItem(keptAs, next);
      } catch {
        // Without storage the choice lasts as long as the page.
      }
      show(next);
    }
  });
  window.addEventListener("storage", (event) => {
    if (event.key === keptAs) {
      show(kept());
    }
  });
  // Buttons that are drawn later than this script runs learn how they stand.
  new MutationObserver(() => {
    for (const button of document.querySelectorAll("[data-theme-choice]")) {
      const pressed = String(document.documentElement.dataset.theme === "light");
      if (button.getAttribute("aria-pressed") !== pressed) {
        button.setAttribute("aria-pressed", pressed);
      }
    }
  }).observe(document.documentElement, { childList: true, subtree: true });
})();
