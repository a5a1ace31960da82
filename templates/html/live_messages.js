// The live checklist: the bar that stays in sight, with what is done, what is missing, and messages.

{
  const { make, say } = Live;

  const said = make("div", { class: "said", role: "status" });
  const warned = make("div", { class: "said", role: "alert" });

  /** Scrolls to a step and focuses its first control. */
  Live.goTo = (step) => {
    step.element.scrollIntoView({ block: "start" });
    const control = step.element.querySelector(".step-tick, input, textarea, button");
    control?.focus({ preventScroll: true });
  };

  /** Says something, with actions that it offers, and with a link to a step. It stays until the next message. */
  Live.tell = (text, { acts = [], step = null } = {}) => {
    const close = Live.button("×", () => said.replaceChildren(), { class: "close", "aria-label": say("close") });
    const link = step && Live.button(say("go-to-step", { number: step.number }), () => Live.goTo(step));
    said.replaceChildren(make("p", {}, text), ...(link ? [link] : []), ...acts, close);
  };

  Live.bar = make("div", { class: "live-bar" });
  const measure = () => document.documentElement.style.setProperty("--live-bar", `${Live.bar.offsetHeight}px`);
  new ResizeObserver(measure).observe(Live.bar);
  Live.messages = make("div", { class: "messages" }, warned, said);
  const warnings = new Map();
  /** Warns of something until it is called with an empty text. `about` tells it from other warnings. */
  Live.warn = (text, about = "entries") => {
    if ((warnings.get(about) ?? "") === text) return;
    warnings.set(about, text);
    const texts = [...warnings.values()].filter(Boolean);
    warned.replaceChildren(...texts.map((one) => make("p", {}, one)));
  };
}
