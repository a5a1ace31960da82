/* What every page does: the choice of light or dark colours, whether the print in hand is current, whether the page is a
   stored copy, and the same step on another machine.

   Pages follow the system until the reader chooses. The choice is stored in the browser and applied before the page
   is drawn. A choice that equals the system's setting is removed again, so that the page follows the system. */

(() => {
  "use strict";

  const root = document.documentElement;
  const KEY = "benchleaf-colours";
  const system = matchMedia("(prefers-color-scheme: dark)");

  /** The stored choice. Null if there is none, or if the browser stores nothing. */
  const stored = () => {
    try {
      return localStorage.getItem(KEY);
    } catch {
      return null;
    }
  };

  const store = (choice) => {
    try {
      if (choice) localStorage.setItem(KEY, choice);
      else localStorage.removeItem(KEY);
    } catch {
      // The choice then lasts until the page is closed.
    }
  };

  let choice = stored();
  const isDark = () => (choice ? choice === "dark" : system.matches);

  const apply = () => {
    if (choice === "dark" || choice === "light") root.dataset.colours = choice;
    else delete root.dataset.colours;
    const button = document.querySelector(".colours");
    if (button) button.setAttribute("aria-pressed", String(isDark()));
  };
  apply();

  addEventListener("storage", (event) => {
    if (event.key === KEY || event.key === null) {
      choice = stored();
      apply();
    }
  });
  system.addEventListener("change", apply);

  /** Whether the page may be an old copy: the service worker had it stored, or the device has no network. */
  const isStored = () =>
    /^https?:$/.test(location.protocol) && (root.dataset.stored !== undefined || navigator.onLine === false);

  /** Says that the page is a stored copy. */
  const showStored = () => {
    const state = document.querySelector(".stored-state");
    if (!state) return;
    state.hidden = !isStored();
    state.textContent = isStored() ? PAGE_WORDS["stored"] : "";
  };

  /** Says whether the print whose mark the address names is the one that would be made now. A stored copy can't tell. */
  const showPrint = () => {
    const state = document.querySelector(".print-state");
    const print = new URLSearchParams(location.search).get("print");
    if (!state || !/^[0-9a-f]{8}$/.test(print || "")) return;
    const { mark } = state.dataset;
    const [same, other] = isStored() ? ["stored-same", "stored-other"] : ["current", "outdated"];
    state.hidden = false;
    state.classList.toggle("outdated", print !== mark);
    state.textContent = PAGE_WORDS[print === mark ? same : other].replace("{print}", print).replace("{mark}", mark);
  };

  const showStates = () => {
    showStored();
    showPrint();
  };
  addEventListener("online", showStates);
  addEventListener("offline", showStates);

  addEventListener("DOMContentLoaded", () => {
    showStates();
    const button = document.querySelector(".colours");
    if (!button) return;
    button.hidden = false;
    apply();
    button.addEventListener("click", () => {
      const dark = !isDark();
      choice = dark === system.matches ? null : dark ? "dark" : "light";
      store(choice);
      apply();
    });
  });
})();

/* Published pages work without their server: see `offline.js`. From a disk they do anyway, and in a preview the pages
   would be those of an earlier version. */

(() => {
  "use strict";

  const { root } = document.currentScript?.dataset ?? {};
  if (root === undefined || !/^https?:$/.test(location.protocol)) return;
  const base = new URL(root || "./", location.href);
  addEventListener("load", () => {
    if (document.getElementById("benchleaf-preview")) return;
    const manifest = document.createElement("link");
    manifest.rel = "manifest";
    manifest.href = new URL("site.webmanifest", base);
    document.head.append(manifest);
    // Browsers allow it only over https and on the same machine.
    navigator.serviceWorker?.register(new URL("offline.js", base), { updateViaCache: "none" }).catch(() => {});
  });
})();

/* The links to a procedure's sheets for other machines lead to the step that is read. A step's number differs between
   machines; `data-same` names the step. */

addEventListener("DOMContentLoaded", () => {
  "use strict";

  const SAME = "#same.";
  const named = () => [...document.querySelectorAll("[data-same]")];

  /** The first visible step. None while the top of the page is visible. */
  const inSight = (steps) => {
    const bar = document.querySelector(".here")?.getBoundingClientRect().bottom ?? 0;
    const isBelow = (step) => step.getBoundingClientRect().bottom > bar + 8;
    return steps[0]?.getBoundingClientRect().top < innerHeight / 2 ? steps.find(isBelow) : null;
  };

  document.querySelector(".machines")?.addEventListener("click", (event) => {
    const link = event.target.closest("a");
    const step = link && inSight(named());
    if (step) link.hash = SAME + step.dataset.same;
  });
  if (location.hash.startsWith(SAME)) {
    const key = location.hash.slice(SAME.length);
    const step = named().find((one) => one.dataset.same === key);
    location.replace(`#${step ? step.id : "main"}`);
  }
});
