/* Shows a procedure on one machine at a time.

   Without this script, the page shows all machines, each under its name. The
   fragment of the address selects the machine, and optionally an anchor in its
   part of the page: `#on.tarn-yarrow`, `#on.tarn-yarrow.step-4`. Without a machine in
   the fragment, the page shows none and asks for one, so that nobody uses the
   values of another machine. After a change of machine, the page stays at the
   same step. */

(() => {
  "use strict";

  const root = document.documentElement;
  // Set immediately, so that other machines' values never show while the page loads.
  root.classList.add("one-machine");

  const title = document.title;
  const parts = () => [...document.querySelectorAll(".on-machine")];
  const nameOf = (part) => part.querySelector("h2").textContent;

  /** The element that the fragment refers to, if any, and the machine's part of the page. */
  const asked = () => {
    let id = "";
    try {
      id = decodeURIComponent(location.hash.slice(1));
    } catch {
      // The fragment is malformed.
    }
    // The fragment of a step that no longer exists still selects its machine.
    const part = parts().find((one) => id === one.id || id.startsWith(one.id + "."));
    return { place: id && document.getElementById(id), part };
  };

  /** The first visible step, followed by the steps above it in reverse order. */
  const upFromSight = (part) => {
    const bar = document.querySelector(".machines").getBoundingClientRect().bottom;
    const steps = [...part.querySelectorAll("[data-same]")];
    if (!steps.length || steps[0].getBoundingClientRect().top > innerHeight) return [];
    const first = steps.findIndex((step) => step.getBoundingClientRect().bottom > bar + 8);
    return steps.slice(0, first < 0 ? steps.length : first + 1).reverse();
  };

  let shown = null;

  /** Makes the links to other pages select the same machine there. */
  const lead = (part) => {
    for (const link of document.querySelectorAll(".neighbours a, .languages a")) {
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
        // The row of machines can be wider than the screen.
        const row = link.closest("ul");
        row.scrollLeft = link.offsetLeft - row.offsetLeft - 16;
      } else {
        link.removeAttribute("aria-current");
      }
    }
    lead(part);
    // Stores the machine in the browser history, so that going back selects it again.
    history.replaceState({ ...history.state, machine: part.id }, "");
  };

  const follow = () => {
    const { place, part } = asked();
    const kept = history.state && parts().find((one) => one.id === history.state.machine);
    // An anchor outside the machines' parts does not change the machine.
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
    // The browser would scroll to the head of the part, but the page must stay at the visible step.
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
