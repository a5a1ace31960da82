// The live checklist: the bench view, which shows one step at a time, large enough for gloves and arm's length.
//
// It is the same page: a class on the body hides everything but the step. So every control is the one of the list, and
// nothing is entered twice. A screen is what is shown at once: the head of the sheet, a step, the stop after a group of
// steps, or everything after the last step.

{
  const { make, say, sayCount, page, job, count, holds, clock } = Live;
  const VIEW = "benchleaf-view";
  /** A pedal that bounces is not two steps, in milliseconds. */
  const BOUNCE = 250;
  const main = document.querySelector("main");

  // The view is remembered for the device. A browser that stores nothing begins with the list.
  const remembered = {
    get isBench() {
      try {
        return localStorage.getItem(VIEW) === "bench";
      } catch {
        return false;
      }
    },
    set isBench(isBench) {
      try {
        if (isBench) localStorage.setItem(VIEW, "bench");
        else localStorage.removeItem(VIEW);
      } catch {
        // The view then lasts until the page is closed.
      }
    },
  };

  // The screens

  /** Elements that are shown together, the step that they are of, and the section that they are in. */
  const screens = [];

  /** The figure that a section shows before a step, unless the step has its own. */
  function figuresFor(step) {
    if (step.element.querySelector("figure, .what > svg")) return [];
    const list = step.element.closest("ol");
    for (let before = list?.previousElementSibling; before; before = before.previousElementSibling) {
      if (before.tagName === "FIGURE") return [before];
    }
    return [];
  }

  function findScreens(start) {
    screens.push({ elements: [start], step: null, section: null });
    let last = null;
    for (const step of page.steps.filter(({ kind }) => kind !== "sign-off")) {
      last = [...main.children].find((child) => child.contains(step.element)) ?? last;
      const section = step.element.parentElement.closest("section");
      screens.push({ elements: [step.element, ...figuresFor(step)], step, section });
    }
    const rest = [];
    for (let next = last?.nextElementSibling; next; next = next.nextElementSibling) {
      if (next.matches("section")) rest.push(next);
    }
    const signOff = page.steps.find(({ kind }) => kind === "sign-off") ?? null;
    if (rest.length) screens.push({ elements: rest, step: signOff, section: rest[0] });
  }

  // The bar

  const title = make("p", { class: "bench-title" });
  const track = make("div", { class: "track", "aria-hidden": "true" });
  const parts = [];

  function findSections() {
    for (const section of new Set(screens.map((screen) => screen.section))) {
      const steps = screens.filter((screen) => screen.section === section && screen.step).map(({ step }) => step);
      if (!section || !steps.length) continue;
      const fill = make("span");
      const part = make("span", { class: "part" }, fill);
      parts.push({ section, steps, fill, part });
      track.append(part);
    }
  }

  // The buttons

  const back = Live.button("", () => move(-1), { class: "bench-back", "aria-label": say("back") });
  const next = Live.button("", () => advance(), { class: "bench-next" });
  const list = Live.button(say("list"), () => close(), { class: "bench-list" });
  const acts = make("div", { class: "bench-acts", role: "group", "aria-label": say("bench") }, back, next, list);
  const opener = Live.button(say("bench"), () => open(), { class: "bench-open" });

  let isOpen = false;
  let index = 0;
  const screen = () => screens[index];

  /** The first unsigned hold that stands before a screen, as the index of its own. -1 if there is none. */
  function holdBefore(wanted) {
    return screens.findIndex(({ step }, at) => at < wanted && step && holds.openAt(step));
  }

  const isMissing = (step) => step.items.some((item) => item.isMissing());
  /** The tick is all that is missing, so the button can set it. */
  const isToTick = ({ step }) => Boolean(step?.toggle) && step.isUnticked();

  function showActs() {
    const { step } = screen();
    const isLast = index === screens.length - 1;
    const role = step && holds.openAt(step);
    back.disabled = index === 0;
    next.classList.toggle("does", isToTick(screen()));
    next.setAttribute("aria-disabled", String(Boolean(role)));
    let text = say("next-step");
    if (role) text = say("sign-first", { role });
    else if (isToTick(screen())) text = say("done-next");
    else if (isLast) text = say("to-list");
    else if (step && isMissing(step)) text = say("next-missing", { what: count.sayRest(count.of([step])) });
    Live.setText(next, text);
  }

  function showBar() {
    const number = job.number ? say("job", { number: job.number }) : say("no-job");
    Live.setText(title, [number, Live.sheet.title, Live.sheet.machine].filter(Boolean).join(" · "));
    for (const { section, steps, fill, part } of parts) {
      const done = steps.filter((step) => count.isDone(step)).length;
      fill.style.inlineSize = `${(100 * done) / steps.length}%`;
      part.classList.toggle("current", section === screen().section);
    }
  }

  function show() {
    if (!isOpen) return;
    showBar();
    showActs();
  }

  // Movement

  function reveal() {
    for (const element of main.querySelectorAll(".at-bench, .on-way")) element.classList.remove("at-bench", "on-way");
    for (const element of screen().elements) {
      element.classList.add("at-bench");
      for (let around = element.parentElement; around && around !== main; around = around.parentElement) {
        around.classList.add("on-way");
      }
    }
  }

  /** Shows a screen, unless an unsigned hold stands before it: then the hold is shown, and said. */
  function go(wanted, { isFocused = true } = {}) {
    const held = holdBefore(wanted);
    const target = Math.max(0, Math.min(held < 0 ? wanted : held, screens.length - 1));
    const isElsewhere = target !== index;
    index = target;
    reveal();
    Live.changedView();
    const { step, elements } = screen();
    if (held >= 0) {
      holds.refuses(page.steps[page.steps.indexOf(step) + 1]);
      step.element.querySelector(".hold input")?.focus();
      return;
    }
    if (isElsewhere) scrollTo(0, 0);
    history.replaceState(history.state, "", step?.element.id ? `#${step.element.id}` : location.pathname + location.search);
    if (!isFocused) return;
    const [first] = elements;
    first.setAttribute("tabindex", "-1");
    first.focus({ preventScroll: true });
  }

  const move = (by) => go(index + by);

  /** What the large button does, and the pedal: ticks the step if it has a tick, and goes on. */
  function advance() {
    if (isToTick(screen())) screen().step.toggle(true);
    if (index < screens.length - 1) move(1);
    else close();
  }

  /** The screen that shows an element. -1 if none does. */
  const screenOf = (element) => screens.findIndex(({ elements }) => elements.some((shown) => shown.contains(element)));

  function open(step = null) {
    isOpen = true;
    remembered.isBench = true;
    document.body.classList.add("bench");
    const wanted = step ?? (job.hasBegun ? count.now().next : null);
    const found = wanted ? screenOf(wanted.element) : job.hasBegun ? screens.length - 1 : 0;
    go(Math.max(0, found));
  }

  function close() {
    isOpen = false;
    remembered.isBench = false;
    const { step } = screen();
    document.body.classList.remove("bench");
    history.replaceState(history.state, "", location.pathname + location.search);
    Live.changedView();
    if (step) Live.goTo(step);
    else opener.focus();
  }

  // Keys, pedals and taps

  let lastPedal = -BOUNCE;
  const KEYS = { PageDown: 1, PageUp: -1, ArrowRight: 1, ArrowLeft: -1 };
  addEventListener("keydown", (event) => {
    const by = KEYS[event.key];
    if (!isOpen || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
    if (event.key === "Escape") close();
    if (!by) return;
    const isPedal = event.key.startsWith("Page");
    // In a field, the arrows move the cursor or the choice.
    if (!isPedal && event.target.closest?.("input, textarea")) return;
    // A step that is longer than the screen is read to its end first.
    const { scrollHeight } = document.documentElement;
    if (isPedal && by > 0 && scrollY + innerHeight < scrollHeight - 2) return;
    if (isPedal && by < 0 && scrollY > 0) return;
    event.preventDefault();
    if (event.repeat || event.timeStamp - lastPedal < BOUNCE) return;
    lastPedal = event.timeStamp;
    if (isPedal && by > 0) advance();
    else move(by);
  });

  main.addEventListener("click", (event) => {
    if (!isOpen) return;
    const { step } = screen();
    if (!step?.toggle || !step.element.contains(event.target)) return;
    if (event.target.closest("a, button, input, textarea, label, .changed")) return;
    step.toggle();
  });

  addEventListener("hashchange", () => {
    if (!isOpen) return;
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    const found = target ? screenOf(target) : -1;
    if (found >= 0) go(found);
  });

  const goTo = Live.goTo;
  Live.goTo = (step) => {
    if (!isOpen) goTo(step);
    else go(Math.max(0, screenOf(step.element)));
  };

  Live.onChange(show);
  Live.onView(show);

  Live.bench = {
    get isOpen() {
      return isOpen;
    },
    /** The steps before the one that is shown. */
    stepsBefore: () => screens.slice(0, index).flatMap(({ step }) => (step ? [step] : [])),
    opener,
    acts,
    /** Joins the view to the page. `start` is what is shown before the first step. */
    begin(start) {
      opener.hidden = !page.isChecklist;
      if (!page.isChecklist) return;
      findScreens(start);
      findSections();
      Live.bar.prepend(make("div", { class: "bench-row" }, title, track));
      main.append(acts);
      const hash = document.getElementById(decodeURIComponent(location.hash.slice(1)));
      const step = hash && screens[screenOf(hash)]?.step;
      if (remembered.isBench) open(step);
    },
  };
}
