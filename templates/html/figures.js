/* Figures whose parts have numbers. What is pointed at, focused or tapped (a number in the text, a part in a picture or in
   the legend of a whole figure) is marked everywhere on the page. A picture can be opened large, to be zoomed and moved.

   A legend is one tab stop, and the arrow keys move in it; in a text, the numbers are links anyway. With the focus at any of
   them, + opens the picture beside it. */

addEventListener("DOMContentLoaded", () => {
  "use strict";

  const PICTURES = "svg:is(.marked, .crop)";
  // The picture of what a step touches needs no class for its look.
  for (const picture of document.querySelectorAll(".what > svg")) picture.classList.add("crop");

  /** A row of a parts list that links lead to. */
  const DRAWN = 'th[id^="drawn-"]';

  const pictures = () => [...document.querySelectorAll(PICTURES)];
  const withPart = (part) => document.querySelectorAll(`[data-part="${CSS.escape(part)}"]`);
  const say = (key) => VIEW_WORDS[key];

  function make(name, attributes = {}, ...children) {
    const element = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    element.append(...children);
    return element;
  }

  // The parts of numbers. The markup has them in whole figures and over photographs only.

  const numbered = (picture, number) =>
    [...(picture?.querySelectorAll("g") ?? [])].find((group) => group.querySelector("text").textContent === number);

  function nameParts() {
    const whole = new Map();
    for (const group of document.querySelectorAll(".marked > g")) {
      whole.set(group.querySelector("use")?.getAttribute("href"), group.dataset.part);
    }
    for (const group of document.querySelectorAll(".crop > g:not([data-part])")) {
      const shapes = group.querySelector("use").getAttribute("href");
      group.dataset.part = whole.get(shapes) ?? shapes;
    }
    for (const item of document.querySelectorAll(".legend > span")) {
      const picture = item.closest("figure").querySelector(PICTURES);
      item.dataset.part = numbered(picture, item.querySelector("b").textContent).dataset.part;
    }
    for (const text of document.querySelectorAll(".n")) {
      const picture = text.hash ? document.querySelector(text.hash)?.querySelector(PICTURES) : text.closest("li")?.querySelector(PICTURES);
      const group = numbered(picture, text.textContent.slice(1, -1));
      if (group) text.dataset.part = group.dataset.part;
    }
    // The rows of a parts list are the legends of its figures.
    for (const row of document.querySelectorAll("section:has(> figure.whole) > table > tbody > tr:has(> th)")) {
      if (!document.querySelector(DRAWN)) break;
      const group = numbered(row.closest("section").querySelector(PICTURES), row.cells[0].textContent);
      if (group) row.dataset.part = group.dataset.part;
    }
  }
  nameParts();

  // What is marked

  /** The part that was tapped, and the one that the pointer or the focus is at, which comes before it. */
  let kept = null;
  let passing = null;
  let marked = null;

  /** The length of a reference to a drawing. One to the shapes of a number has the number after it. */
  const DRAWING = "#".length + 5;

  /** Marks a part in a picture that does not number it, if another one of the same drawing does. */
  function markWithoutNumber(shapes) {
    const drawing = shapes.slice(0, DRAWING);
    for (const picture of pictures()) {
      const all = picture.querySelector(":scope > use");
      if (picture.matches(".has-lit") || all?.getAttribute("href") !== drawing) continue;
      const use = document.createElementNS(picture.namespaceURI, "use");
      use.setAttribute("href", shapes);
      use.setAttribute("class", "lit also-lit");
      all.after(use);
      picture.classList.add("has-lit");
    }
  }

  function mark() {
    const part = passing ?? kept;
    if (part === marked) return;
    marked = part;
    for (const extra of document.querySelectorAll(".also-lit")) extra.remove();
    for (const old of document.querySelectorAll(".lit, .has-lit")) old.classList.remove("lit", "has-lit");
    if (!part) return;
    const shapes = new Set();
    for (const element of withPart(part)) {
      element.classList.add("lit");
      element.closest(PICTURES)?.classList.add("has-lit");
      const use = element.querySelector(":scope > use");
      if (use) shapes.add(use.getAttribute("href"));
    }
    for (const href of shapes) markWithoutNumber(href);
  }

  function keep(part) {
    kept = part;
    for (const item of document.querySelectorAll(".legend > [role=button]")) {
      item.setAttribute("aria-pressed", String(item.dataset.part === part));
    }
    mark();
  }

  function pass(part) {
    passing = part;
    mark();
  }

  const partAt = (target) => target?.closest?.("[data-part]")?.dataset.part ?? null;
  addEventListener("pointerover", ({ target, pointerType }) => {
    if (pointerType === "mouse") pass(partAt(target));
  });
  document.documentElement.addEventListener("pointerleave", () => pass(null));
  addEventListener("focusin", ({ target }) => pass(target.matches(":focus-visible") ? partAt(target) : null));
  addEventListener("focusout", () => pass(null));

  // The legends

  /** Makes the items of a legend buttons that mark, and one tab stop of all of them. */
  function control(legend) {
    legend.setAttribute("role", "toolbar");
    legend.setAttribute("aria-label", say("parts"));
    [...legend.children].forEach((item, index) => {
      item.setAttribute("role", "button");
      item.setAttribute("aria-pressed", String(item.dataset.part === kept));
      item.tabIndex = index ? -1 : 0;
    });
  }

  const STEPS = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
  /** A key in a legend. Whether it is one. */
  function keyInLegend(event) {
    const item = event.target.closest?.(".legend > [role=button]");
    if (!item) return false;
    const items = [...item.parentElement.children];
    const to = { Home: 0, End: items.length - 1 }[event.key];
    const by = STEPS[event.key];
    if (event.key === "Enter" || event.key === " ") {
      keep(kept === item.dataset.part ? null : item.dataset.part);
      return true;
    }
    if (by === undefined && to === undefined) return false;
    const next = items[to ?? (items.indexOf(item) + by + items.length) % items.length];
    for (const other of items) other.tabIndex = other === next ? 0 : -1;
    next.focus();
    return true;
  }

  // The large picture

  const MOST = 12;
  let viewer = null;

  /** The pointers that are down, by their ids. Two of them pinch. */
  const pointers = new Map();
  let hasMoved = false;

  const view = {
    svg: null,
    base: null,
    scale: 1,
    middle: null,

    begin(svg) {
      view.svg = svg;
      view.base = svg.getAttribute("viewBox").split(" ").map(Number);
      view.whole();
    },
    whole() {
      const [x, y, width, height] = view.base;
      view.scale = 1;
      view.middle = [x + width / 2, y + height / 2];
      view.draw();
    },
    draw() {
      const [x, y, ...size] = view.base;
      const [width, height] = size.map((side) => side / view.scale);
      const within = (middle, from, all, part) => Math.min(Math.max(middle, from + part / 2), from + all - part / 2);
      view.middle = [within(view.middle[0], x, size[0], width), within(view.middle[1], y, size[1], height)];
      const box = [view.middle[0] - width / 2, view.middle[1] - height / 2, width, height];
      view.svg.setAttribute("viewBox", box.map((side) => Math.round(side * 10) / 10).join(" "));
      viewer.scale.textContent = `${Math.round(100 * view.scale)}\u00a0%`;
      viewer.smaller.setAttribute("aria-disabled", String(view.scale <= 1));
      viewer.larger.setAttribute("aria-disabled", String(view.scale >= MOST));
    },
    /** The length of a pixel in the drawing. */
    unit: () => 1 / view.svg.getScreenCTM().a,
    move(x, y) {
      view.middle = [view.middle[0] + x, view.middle[1] + y];
      view.draw();
    },
    /** Zooms, so that what is at a place of the screen stays there. Without a place, it is the middle. */
    zoom(by, place = null) {
      const scale = Math.min(Math.max(view.scale * by, 1), MOST);
      if (place) {
        const point = new DOMPoint(...place).matrixTransform(view.svg.getScreenCTM().inverse());
        const left = view.scale / scale;
        view.middle = [point.x + (view.middle[0] - point.x) * left, point.y + (view.middle[1] - point.y) * left];
      }
      view.scale = scale;
      view.draw();
    },
  };

  const between = ([one, other]) => [(one.x + other.x) / 2, (one.y + other.y) / 2];
  const apart = ([one, other]) => Math.hypot(one.x - other.x, one.y - other.y);

  function drag(event) {
    const before = pointers.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    // A finger that taps is not still.
    if (!hasMoved && Math.hypot(now.x - before.x, now.y - before.y) < 6) return;
    hasMoved = true;
    viewer.stage.setPointerCapture(event.pointerId);
    const old = [...pointers.values()];
    pointers.set(event.pointerId, now);
    const all = [...pointers.values()];
    const [from, to] = all.length > 1 ? [between(old), between(all)] : [[before.x, before.y], [now.x, now.y]];
    const unit = view.unit();
    view.move((from[0] - to[0]) * unit, (from[1] - to[1]) * unit);
    if (all.length > 1 && apart(old) > 0) view.zoom(apart(all) / apart(old), to);
  }

  function listenTo(stage) {
    stage.addEventListener("pointerdown", ({ pointerId, clientX, clientY, isPrimary }) => {
      if (isPrimary) {
        pointers.clear();
        hasMoved = false;
      }
      pointers.set(pointerId, { x: clientX, y: clientY });
    });
    stage.addEventListener("pointermove", drag);
    for (const end of ["pointerup", "pointercancel"]) stage.addEventListener(end, ({ pointerId }) => pointers.delete(pointerId));
    stage.addEventListener(
      "wheel",
      (event) => {
        event.preventDefault();
        const lines = event.deltaMode ? 20 : 1;
        view.zoom(Math.exp(-event.deltaY * lines * 0.002), [event.clientX, event.clientY]);
      },
      { passive: false },
    );
  }

  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  function keyInViewer(event) {
    // Behind it, keys have other meanings.
    event.stopPropagation();
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const arrow = ARROWS[event.key];
    if (event.key === "Escape") viewer.dialog.close();
    else if (keyInLegend(event)) void 0;
    else if (event.key === "+" || event.key === "=") view.zoom(1.4);
    else if (event.key === "-") view.zoom(1 / 1.4);
    else if (event.key === "0") view.whole();
    else if (arrow) view.move((arrow[0] * view.base[2]) / view.scale / 6, (arrow[1] * view.base[3]) / view.scale / 6);
    else return;
    event.preventDefault();
  }

  function makeViewer() {
    const button = (key, sign, act) => {
      const made = make("button", { type: "button", "aria-label": say(key), title: say(key) }, sign);
      made.addEventListener("click", act);
      return made;
    };
    const title = make("h2", { id: "viewer-title" });
    const stage = make("div", { class: "viewer-stage" });
    const legend = make("p", { class: "legend" });
    const scale = make("output", { class: "viewer-scale" });
    const smaller = button("smaller", "\u2212", () => view.zoom(1 / 1.4));
    const larger = button("larger", "+", () => view.zoom(1.4));
    const acts = make("div", { class: "viewer-acts" }, smaller, scale, larger, button("whole", "\u2922", () => view.whole()));
    const close = button("close", "\u00d7", () => viewer.dialog.close());
    const dialog = make("dialog", { class: "viewer", "aria-labelledby": title.id }, title, close, stage, legend, acts);
    dialog.addEventListener("keydown", keyInViewer);
    dialog.addEventListener("close", () => {
      stage.replaceChildren();
      viewer.before?.focus({ preventScroll: true });
    });
    listenTo(stage);
    document.body.append(dialog);
    return { dialog, title, stage, legend, scale, smaller, larger, close, before: null };
  }

  /** The names of the parts in a picture, from the legend of the whole figure or from its table. */
  function namesIn(svg) {
    const parts = [...svg.querySelectorAll("g[data-part]")].map((group) => group.dataset.part);
    const named = parts.map((part) => {
      const isPart = `[data-part="${CSS.escape(part)}"]`;
      const item = document.querySelector(`figcaption .legend > ${isPart}`);
      if (item) return item.cloneNode(true);
      const row = svg.closest("section")?.querySelector(`tr${isPart}`);
      if (!row) return null;
      const name = row.querySelector("th").textContent;
      return make("span", { "data-part": part }, make("b", {}, row.cells[0].textContent), ` ${name}`);
    });
    return named.filter(Boolean);
  }

  function titleOf(svg) {
    const caption = svg.closest("figure")?.querySelector("figcaption")?.cloneNode(true);
    caption?.querySelectorAll(".legend, button").forEach((part) => part.remove());
    return caption?.textContent.trim() || svg.getAttribute("aria-label");
  }

  function open(svg) {
    viewer ??= makeViewer();
    const { dialog, title, stage, legend } = viewer;
    viewer.before = document.activeElement;
    pointers.clear();
    title.textContent = titleOf(svg);
    const large = svg.cloneNode(true);
    large.removeAttribute("style");
    large.classList.add("viewed", "marked");
    stage.replaceChildren(large);
    const names = namesIn(svg);
    legend.hidden = !names.length;
    legend.replaceChildren(...names);
    control(legend);
    dialog.showModal();
    viewer.close.focus();
    view.begin(large);
    const part = passing ?? kept;
    marked = null;
    if (part) keep(part);
  }

  // Taps and keys

  const isAtBench = () => document.body.classList.contains("bench");
  const toggle = (part) => keep(kept === part ? null : part);

  /** The picture that belongs to an element of a page: of its step, or of its whole figure. */
  function pictureBeside(element) {
    const around = element?.closest?.("li, figure");
    const shown = document.querySelector(isAtBench() ? `.at-bench ${PICTURES}, .at-bench${PICTURES}` : ".none");
    return shown ?? around?.querySelector(PICTURES);
  }

  document.addEventListener(
    "click",
    (event) => {
      const { target } = event;
      const part = partAt(target);
      const svg = target.closest(PICTURES);
      // The name of a part in a list leads to where it is used.
      if (target.closest("a[href]:not(.n)")) return;
      const link = target.closest("a.n");
      if (link) {
        keep(part);
        // The whole figure is not on this screen.
        if (!isAtBench()) return;
        event.preventDefault();
        const whole = document.querySelector(link.hash)?.querySelector(PICTURES);
        if (whole) open(whole);
        return;
      }
      if (!svg && !part) {
        if (kept && !target.closest(".viewer")) keep(null);
        return;
      }
      // A tap on a step at the bench ticks it.
      event.stopPropagation();
      const isNumber = target.matches("circle, text");
      if (!svg || (part && (isNumber || !svg.matches(".crop:not(.viewed)")))) {
        if (!hasMoved || !svg?.matches(".viewed")) toggle(part);
      } else if (!svg.matches(".viewed")) {
        open(svg);
      } else if (!hasMoved) {
        keep(null);
      }
    },
    true,
  );

  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || viewer?.dialog.open) return;
    if (event.target.closest?.("input, textarea, select")) return;
    if (keyInLegend(event)) {
      event.preventDefault();
      event.stopImmediatePropagation();
    } else if (event.key === "+") {
      const picture = pictureBeside(event.target);
      if (picture) open(picture);
    } else if (event.key === "Escape" && kept && !isAtBench()) {
      keep(null);
    }
  }, true);

  for (const figure of document.querySelectorAll("figure.whole")) {
    const button = make("button", { type: "button", class: "figure-open" }, say("open"));
    button.addEventListener("click", (event) => {
      event.stopPropagation();
      open(figure.querySelector(PICTURES));
    });
    figure.querySelector("figcaption").append(" ", button);
    // The parts of a list are in its table.
    const legend = figure.querySelector(".legend");
    if (legend) control(legend);
  }
  for (const link of document.querySelectorAll("a.n")) link.setAttribute("aria-keyshortcuts", "+");

  // A link to a part leads to its row in the parts list: its picture is shown, with the part marked.

  function arrive() {
    const row = document.querySelector("tr[data-part] > :target")?.parentElement;
    if (!row) return;
    keep(row.dataset.part);
    row.closest("section").querySelector("figure").scrollIntoView({ block: "nearest" });
  }
  addEventListener("load", arrive);
  addEventListener("hashchange", arrive);
});
