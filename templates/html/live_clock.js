// The live checklist: the clock of the job, beside the time allowed.
//
// The clock starts with the first entry. It is an entry only once somebody has stopped it: { "ms": 61000, "since": null }
// is stopped, and with a time in `since` it goes on from there. It stops by itself when everything is done, and at a
// stop where work was left.

{
  const { make, say, page, job, count } = Live;

  const ask = page.addAsk(page.whole, "clock", {
    kind: "clock",
    label: say("clock"),
    takes: (value) => Number.isSafeInteger(value?.ms) && "since" in value,
    show: () => {},
  });

  /** The minutes in a text such as "1 h 25 min", or null. */
  function minutesIn(text) {
    const [, hours = 0, minutes = 0] = /^(?:(\d+)\s*h)?\s*(?:(\d+)\s*min)?$/.exec(text) ?? [];
    return Number(hours) * 60 + Number(minutes) || null;
  }

  /** Minutes as hours and minutes: "0:48". */
  const inHours = (minutes) => `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}`;

  const fact = document.querySelector("[data-fact=time-allowed]");
  const allowed = fact && minutesIn(Live.plain(fact));

  const state = () => job.valueOf(ask) ?? { ms: 0, since: job.record.begun };
  const isRunning = () => job.hasBegun && state().since !== null;

  /** The milliseconds of work until now, or until the last entry if everything is done. */
  function elapsed() {
    const { ms, since } = state();
    if (since === null) return ms;
    const isComplete = count.now().items.length === 0;
    const end = isComplete ? Date.parse(job.record.saved) : Date.now();
    return ms + Math.max(0, end - Date.parse(since));
  }

  const pause = () => isRunning() && job.enter(ask, { ms: Math.round(elapsed()), since: null });
  const resume = () => job.enter(ask, { ms: state().ms, since: new Date().toISOString() });

  const text = make("span", { class: "clock", role: "timer" });

  const buttons = [];
  /** A button that stops the clock, or lets it go on. */
  function button() {
    const toggle = Live.button("", () => (isRunning() ? pause() : resume()), { class: "clock-toggle" });
    buttons.push(toggle);
    return toggle;
  }

  function show() {
    const minutes = Math.floor(elapsed() / 60000);
    const isOver = allowed !== null && minutes > allowed;
    const places = { time: inHours(minutes), allowed: allowed && inHours(allowed) };
    const key = isOver ? "clock-over" : allowed ? "clock-of" : "clock-alone";
    const parts = [say(key, places), isRunning() ? null : say("clock-stopped")];
    const isShown = job.hasBegun && page.isChecklist;
    Live.setText(text, isShown ? parts.filter(Boolean).join(", ") : "");
    text.classList.toggle("is-over", isOver);
    for (const toggle of buttons) {
      toggle.hidden = !isShown;
      toggle.classList.toggle("stopped", !isRunning());
      Live.setText(toggle, isRunning() ? say("clock-stop") : say("clock-go-on"));
    }
  }

  Live.onChange(show);
  setInterval(show, 5000);
  addEventListener("beforeprint", show);

  Live.clock = { text, button, pause };
}
