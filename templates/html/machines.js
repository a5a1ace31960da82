/* Shows a procedure on one machine at a time.

   Without it, all of them stand below each other, each under its machine's
   name. The address says which machine is shown, and may say a place on it:
   `#on.tarn-t7`, `#on.tarn-t7.step-4`. An address that names none shows none,
   and asks: no machine's values are taken for another's. Whoever changes the
   machine stays at the step that is the same there. */

(() => {
  "use strict";

  const root = document.documentElement;
  // At once, so that no other machine's values are seen while the page loads.
  root.classList.add("one-machine");

  const title = document.title;
  const parts = () => [...document.querySelectorAll(".on-machine")];
  const nameOf = (part) => part.querySelector("h2").textContent;

  /** What the address asks for: a place, if there is one, and its machine's part of the page. */
  const asked = () => {
    let id = "";
    try {
      id = decodeURIComponent(location.hash.slice(1));
    } catch {
      // Not an address of ours.
    }
    // A step that is no longer there is still one of its machine.
    const part = parts().find((one) => id === one.id || id.startsWith(one.id + "."));
    return { place: id && document.getElementById(id), part };
  };

  /** The steps that are on the screen or above it, the first in sight first, then upwards. */
  const upFromSight = (part) => {
    const bar = document.querySelector(".machines").getBoundingClientRect().bottom;
    const steps = [...part.querySelectorAll("[data-same]")];
    if (!steps.length || steps[0].getBoundingClientRect().top > innerHeight) return [];
    const first = steps.findIndex((step) => step.getBoundingClientRect().bottom > bar + 8);
    return steps.slice(0, first < 0 ? steps.length : first + 1).reverse();
  };

  let shown = null;

  /** Ways to other pages lead on to the same machine, where they have it. */
  const lead = (part) => {
    for (const link of document.querySelectorAll(".neighbours a, .extras a[hreflang]")) {
      link.hash = part.id;
    }
  };

  const show = (part) => {
    shown = part;
    root.classList.add("chosen");
    document.title = `${nameOf(part)} · ${title}`;
    for (const one of parts()) {
      one.classList.toggle("shown", one === part);
    }
    for (const link of document.querySelectorAll(".machines a")) {
      if (decodeURIComponent(link.hash.slice(1)) === part.id) {
        link.setAttribute("aria-current", "true");
        // They stand in one row that may be wider than the screen.
        const row = link.closest("ul");
        row.scrollLeft = link.offsetLeft - row.offsetLeft - 16;
      } else {
        link.removeAttribute("aria-current");
      }
    }
    lead(part);
    // Whoever comes back to this entry of the history finds the machine again.
    history.replaceState({ ...history.state, machine: part.id }, "");
  };

  const follow = () => {
    const { place, part } = asked();
    const kept = history.state && parts().find((one) => one.id === history.state.machine);
    // A place outside of all machines changes none.
    const next = part || kept || (location.hash && shown);
    if (!next) {
      shown = null;
      root.classList.remove("chosen");
      for (const one of parts()) one.classList.remove("shown");
      document.title = title;
      return;
    }
    const before = shown && shown !== next ? upFromSight(shown) : [];
    const tops = before.map((step) => step.getBoundingClientRect().top);
    const isOther = shown && shown !== next;
    show(next);
    if (isOther) {
      document.querySelector(".machine-said").textContent = nameOf(next);
    }
    if (place && place !== next && next.contains(place)) {
      place.scrollIntoView();
      return;
    }
    for (const [at, step] of before.entries()) {
      const same = [...next.querySelectorAll("[data-same]")].find((one) => one.dataset.same === step.dataset.same);
      if (same) {
        scrollBy(0, same.getBoundingClientRect().top - tops[at]);
        return;
      }
    }
  };

  addEventListener("DOMContentLoaded", () => {
    follow();
    addEventListener("hashchange", follow);
    addEventListener("popstate", follow);
    addEventListener("pageshow", (event) => event.persisted && follow());
    // The browser would go to the part's head; the step in sight is what is wanted.
    document.querySelector(".machines").addEventListener("click", (event) => {
      const link = event.target.closest("a");
      if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) {
        return;
      }
      event.preventDefault();
      history.pushState(null, "", link.hash);
      follow();
    });
  });
})();
