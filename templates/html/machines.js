/* Shows a procedure on one machine at a time.

   Without it, all of them stand below each other, each under its machine's
   name. The address says which machine is shown, and may say a step of it:
   `#tarn-t7`, `#tarn-t7-step-4`. Whoever changes the machine stays at the step
   that is the same there, and finds the values of the other machine. */

(() => {
  "use strict";

  const root = document.documentElement;
  // At once, so that no other machine's values are seen while the page loads.
  root.classList.add("one-machine");

  const parts = () => [...document.querySelectorAll(".on-machine")];

  /** The part of the page that the address leads to; the first where it leads to none. */
  const asked = () => {
    let id = "";
    try {
      id = decodeURIComponent(location.hash.slice(1));
    } catch {
      // Not an address of ours.
    }
    const place = id && document.getElementById(id);
    return { id, place, part: place ? place.closest(".on-machine") : null };
  };

  /** The first step that is in sight, or the one just above. */
  const inSight = (part) => {
    const steps = [...part.querySelectorAll("[data-same]")];
    const top = 120;
    if (!steps.length || steps[0].getBoundingClientRect().top > innerHeight) {
      return null;
    }
    return steps.find((step) => step.getBoundingClientRect().bottom > top) || null;
  };

  let shown = null;

  const show = (part) => {
    shown = part;
    for (const one of parts()) {
      one.classList.toggle("shown", one === part);
    }
    for (const link of document.querySelectorAll(".machines a")) {
      const isIts = link.hash === "#" + encodeURIComponent(part.id);
      if (isIts) {
        link.setAttribute("aria-current", "true");
        // On a phone they stand in one row that is wider than the screen.
        const row = link.closest("ul");
        row.scrollLeft = link.offsetLeft - row.offsetLeft - 16;
      } else {
        link.removeAttribute("aria-current");
      }
    }
  };

  const follow = () => {
    const { id, place, part } = asked();
    // A place outside of all machines changes none.
    const next = part || (id && shown) || parts()[0];
    if (!next) {
      return;
    }
    const before = shown && shown !== next ? inSight(shown) : null;
    const at = before && before.getBoundingClientRect().top;
    show(next);
    if (place && place !== next) {
      place.scrollIntoView();
    } else if (before) {
      const same = [...next.querySelectorAll("[data-same]")].find(
        (step) => step.dataset.same === before.dataset.same,
      );
      if (same) {
        scrollBy(0, same.getBoundingClientRect().top - at);
      }
    }
  };

  addEventListener("DOMContentLoaded", () => {
    follow();
    addEventListener("hashchange", follow);
    // The browser would go to the part's head; the step in sight is what is wanted.
    document.querySelector(".machines").addEventListener("click", (event) => {
      const link = event.target.closest("a");
      if (!link || event.ctrlKey || event.metaKey || event.shiftKey) {
        return;
      }
      event.preventDefault();
      history.pushState(null, "", link.hash);
      follow();
    });
    addEventListener("popstate", follow);
  });
})();
