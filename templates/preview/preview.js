// Reloads a page of the preview when it has changed, keeps its position, and shows the findings in a
// panel. The preview adds this script to each served page; the files do not contain it. All its words
// come with it, in every language.
(() => {
  "use strict";

  const given = JSON.parse(document.getElementById("benchleaf-preview").textContent);
  // The words for the page's language tag, or for its longest prefix that has words, or for the same
  // language in another region.
  const tag = document.documentElement.lang.toLowerCase();
  const tags = Object.keys(given.words).sort((left, right) => right.length - left.length);
  const isWithin = (longer, shorter) => `${longer}-`.startsWith(`${shorter}-`);
  const language =
    tags.find((known) => isWithin(tag, known.toLowerCase())) ??
    tags.find((known) => isWithin(known.toLowerCase(), tag.split("-")[0])) ??
    given.fallback;
  const words = given.words[language];
  const say = (key, places = {}) =>
    words[key].replace(/\{([a-z]*)\}/g, (_, name) => String(places[name] ?? ""));

  /** What this page was made from. */
  const own = given.state;
  let isReloading = false;

  // State that this tab keeps across reloads

  const kept = {
    read(name) {
      try {
        return JSON.parse(sessionStorage.getItem(`benchleaf-preview-${name}`));
      } catch {
        return null;
      }
    },
    write(name, value) {
      try {
        sessionStorage.setItem(`benchleaf-preview-${name}`, JSON.stringify(value));
      } catch {
        // Without storage, the page still reloads.
      }
    },
  };

  // Reloading at the same position

  /** The element with an id that is nearest to the top of the viewport, and its distance from it. */
  function nearest() {
    let found = null;
    for (const element of document.querySelectorAll("main [id]")) {
      const box = element.getBoundingClientRect();
      if (!box.height) continue;
      if (!found || Math.abs(box.top) < Math.abs(found.top)) found = { id: element.id, top: box.top };
    }
    return found;
  }

  function reload() {
    if (isReloading) return;
    isReloading = true;
    const active = document.activeElement;
    const focus = active?.id
      ? { id: active.id, from: active.selectionStart ?? null, to: active.selectionEnd ?? null }
      : null;
    // Leaving the field saves the typed text.
    active?.blur?.();
    kept.write("place", { path: location.pathname, x: scrollX, y: scrollY, nearest: nearest(), focus });
    history.scrollRestoration = "manual";
    location.reload();
  }

  function restore() {
    const place = kept.read("place");
    if (place?.path !== location.pathname) return;
    const element = place.nearest && document.getElementById(place.nearest.id);
    // The content above can have changed in height, so the same step is moved back into its position.
    const y = element
      ? scrollY + element.getBoundingClientRect().top - place.nearest.top
      : place.y;
    scrollTo({ left: place.x, top: place.y === 0 ? 0 : y, behavior: "instant" });
    const field = place.focus && document.getElementById(place.focus.id);
    field?.focus({ preventScroll: true });
    if (typeof place.focus?.from !== "number" || !field?.setSelectionRange) return;
    try {
      field.setSelectionRange(place.focus.from, place.focus.to);
    } catch {
      // A number field has no text selection.
    }
  }

  const isReload = performance.getEntriesByType("navigation")[0]?.type === "reload";
  if (isReload && kept.read("place")) {
    restore();
    // Repeats this after the figures have loaded.
    addEventListener("load", () => {
      restore();
      kept.write("place", null);
    });
  }
  // When the user goes back to this page or reloads it, the browser restores the scroll position. It is
  // turned on only when the page is left: earlier, the browser would scroll to an old position.
  addEventListener("pagehide", () => {
    if (!isReloading) history.scrollRestoration = "auto";
  });

  // The panel with the findings, in a shadow tree, so that page and panel do not share styles

  function make(tag, attributes = {}, ...inside) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    element.append(...inside);
    return element;
  }

  const host = make("div");
  const shadow = host.attachShadow({ mode: "open" });
  const counts = make("span", { class: "counts" });
  const toggle = make("button", { type: "button", "aria-controls": "findings" }, counts);
  const notes = make("div", { class: "notes" });
  const bar = make("div", { class: "bar" }, toggle, notes);
  const list = make("ol", { lang: given.findings });
  const more = make("p", { class: "more" });
  // Makes the panel scrollable with the keyboard.
  const findings = make("div", { id: "findings", class: "findings", tabindex: "0", role: "group" }, list, more);
  findings.setAttribute("aria-label", say("preview-list"));
  const panel = make("section", { "aria-label": say("preview-title") }, bar, findings);
  const spoken = make("p", { class: "spoken", role: "status", "aria-live": "polite" });
  shadow.append(make("style", {}, given.style), panel, spoken);

  // Adds space, so that the end of the page and the focused element can be scrolled above the panel.
  const room = make("style");
  new ResizeObserver(() => {
    const height = panel.hidden ? 0 : Math.ceil(panel.getBoundingClientRect().height);
    room.textContent = height
      ? `@media screen { html { scroll-padding-bottom: ${height}px; } body { margin-bottom: ${height}px; } }`
      : "";
  }).observe(panel);

  let isOpen = false;

  function open(isToBe) {
    isOpen = isToBe;
    toggle.setAttribute("aria-expanded", String(isOpen));
    findings.hidden = !isOpen;
  }

  toggle.addEventListener("click", () => {
    open(!isOpen);
    kept.write("open", isOpen);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || event.defaultPrevented || !isOpen || panel.hidden) return;
    const isInside = shadow.activeElement !== null;
    open(false);
    kept.write("open", false);
    if (isInside) toggle.focus();
  });

  /** Nodes for a text, with its parts in `backticks` as code elements. */
  function prose(text) {
    return text.split(/`([^`]+)`/).map((part, index) => (index % 2 ? make("code", {}, part) : part));
  }

  function placed(place) {
    const line = make("code", {}, place.before, make("mark", {}, place.marked), place.after);
    const whole = make(
      "div",
      { class: "place" },
      make("p", { class: "path" }, `${place.path}:${place.line}:${place.column}`),
      make("pre", {}, line),
    );
    if (place.label) whole.append(make("p", { class: "label" }, place.label));
    return whole;
  }

  /** The name of a rule, with a link to its page in the folder of this page's language. */
  function ruleOf({ rule, reference }) {
    if (!reference) return rule;
    // A page without the search is the placeholder of one that is missing.
    const root = document.querySelector(".search")?.dataset.root ?? "/";
    return make("a", { href: root + reference }, rule);
  }

  function entry(found) {
    const level = {
      error: say("preview-error"),
      warning: say("preview-warning"),
      advice: say("preview-advice"),
    }[found.level];
    // The message of a template error has an excerpt that needs its line breaks.
    const [message, ...drawn] = found.message.split("\n");
    const item = make(
      "li",
      { class: found.level },
      make(
        "p",
        { class: "message" },
        make("b", { lang: document.documentElement.lang }, level),
        " ",
        ...prose(message),
      ),
      ...(drawn.length ? [make("pre", {}, make("code", {}, drawn.join("\n")))] : []),
      ...found.places.map(placed),
    );
    if (found.help) item.append(make("p", { class: "help" }, ...prose(found.help)));
    if (found.rule) item.append(make("p", { class: "rule" }, ruleOf(found)));
    return item;
  }

  function counted(state) {
    const parts = [
      [state.errors, "preview-one-error", "preview-errors"],
      [state.warnings, "preview-one-warning", "preview-warnings"],
      [state.advice, "preview-one-advice", "preview-advices"],
    ];
    return parts
      .filter(([count]) => count)
      .map(([count, one, several]) => (count === 1 ? say(one) : say(several, { count })))
      .join(", ");
  }

  let state = own;
  let isLost = false;

  function show() {
    const count = counted(state);
    const said = [];
    // A new preview has no pages yet, and may soon have this one.
    if (own.page && !state.page && state.built) said.push(say("preview-gone"));
    if (own.page && state.kept) said.push(say("preview-kept"));
    if (isLost) said.push(say("preview-lost"));
    const wasHidden = panel.hidden;
    panel.hidden = !count && !said.length;
    toggle.hidden = !count;
    counts.textContent = count;
    notes.replaceChildren(...said.map((text) => make("p", {}, text)));
    list.replaceChildren(...state.findings.map(entry));
    more.hidden = !state.more;
    more.textContent = state.more ? say("preview-more", { count: state.more }) : "";
    if (!count) kept.write("open", null);
    // Errors open the panel, unless the user has closed it. Other findings do not open it.
    open(Boolean(count) && (kept.read("open") ?? state.errors > 0));
    const spokenNow = [count, ...said].filter(Boolean).join(". ");
    spoken.textContent = spokenNow || (wasHidden ? "" : say("preview-clean"));
  }

  document.head.append(room);
  // Without an icon, the browser would request a missing file.
  if (!document.querySelector("link[rel~=icon]")) {
    document.head.append(make("link", { rel: "icon", href: "data:," }));
  }
  document.body.append(host);
  panel.hidden = true;
  show();

  // Events. Hidden tabs do not listen, because a browser opens only a few connections to a server

  let source = null;

  function hear(event) {
    isLost = false;
    state = JSON.parse(event.data);
    const isOther = state.page !== null && state.page !== own.page;
    if (isOther || (state.built && !own.built)) {
      reload();
    } else {
      show();
    }
  }

  function listen() {
    if (source || document.visibilityState === "hidden") return;
    source = new EventSource(`/.preview/events?page=${encodeURIComponent(location.pathname)}`);
    source.addEventListener("message", hear);
    source.addEventListener("error", () => {
      if (isReloading || isLost) return;
      isLost = true;
      show();
    });
  }

  function rest() {
    source?.close();
    source = null;
  }

  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden") {
      rest();
    } else {
      listen();
    }
  });
  addEventListener("pagehide", rest);
  addEventListener("pageshow", listen);
  listen();
})();
