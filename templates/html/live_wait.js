// The live checklist: waiting. A step that waits has a countdown, which ends with a sound.
//
// The entry says when it was started: { "ms": 600000, "since": "2026-03-02T09:10:02.031Z" }. So it goes on while the
// page is closed, and on every device that has the job.

{
  const { make, say, page, job } = Live;
  const waits = [];

  /** Minutes and seconds that are left, or hours before them: "9:58". */
  function inMinutes(ms) {
    const seconds = Math.ceil(ms / 1000);
    const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
    const two = (number) => String(number).padStart(2, "0");
    return `${hours ? `${hours}:${two(minutes)}` : minutes}:${two(seconds % 60)}`;
  }

  // The sound. A browser allows it after the page was touched, and the button that starts a countdown is a touch.
  let audio = null;
  const allowSound = () => {
    audio ??= globalThis.AudioContext ? new AudioContext() : null;
    audio?.resume().catch(() => {});
  };

  /** Three tones. */
  function sound() {
    allowSound();
    navigator.vibrate?.([400, 200, 400, 200, 400]);
    if (!audio) return;
    for (const index of [0, 1, 2]) {
      const [tone, gain] = [audio.createOscillator(), audio.createGain()];
      const start = audio.currentTime + index * 0.6;
      tone.frequency.value = 880;
      gain.gain.setValueAtTime(0.4, start);
      gain.gain.exponentialRampToValueAtTime(0.001, start + 0.5);
      tone.connect(gain).connect(audio.destination);
      tone.start(start);
      tone.stop(start + 0.5);
    }
  }

  function add(step, name, li) {
    const length = Number(li.dataset.seconds) * 1000;
    const ask = page.addAsk(step, name, {
      kind: "wait",
      label: say("wait"),
      takes: (value) => Number.isSafeInteger(value?.ms) && typeof value.since === "string",
      show: () => settle(wait),
    });
    // The box for the time at which the wait ends is filled in by the clock.
    const until = li.querySelector(".write");
    until.removeAttribute("aria-hidden");
    const left = make("span", { class: "left", role: "timer" });
    const started = () => {
      const value = job.valueOf(ask);
      return value && Date.parse(value.since) + value.ms;
    };
    const toggle = Live.button("", () => {
      allowSound();
      const isRunning = started() !== null && started() > Date.now();
      const value = isRunning ? null : { ms: length, since: new Date().toISOString() };
      if (Live.controls.enter(ask, value)) settle(wait);
    }, { class: "wait-toggle" });
    const wait = { step, until, left, toggle, started, isRunning: false };
    li.querySelector(".boxes").after(toggle, left);
    waits.push(wait);
  }

  function settle(wait) {
    const { step, until, left, toggle, started } = wait;
    const end = started();
    const rest = end && end - Date.now();
    const isRunning = end !== null && rest > 0;
    const isOver = end !== null && rest <= 0;
    Live.setText(toggle, end === null ? say("wait-start") : isOver ? say("wait-again") : say("wait-stop"));
    const time = end && new Date(end).toLocaleTimeString(document.documentElement.lang, { timeStyle: "short" });
    Live.setText(until, time ?? "");
    Live.setText(left, isRunning ? say("wait-left", { time: inMinutes(rest) }) : isOver ? say("wait-over") : "");
    left.classList.toggle("is-over", isOver);
    if (wait.isRunning && isOver) {
      sound();
      Live.tell(say("wait-ended", { step: page.nameOf(step) }), { step });
    }
    wait.isRunning = isRunning;
  }

  setInterval(() => waits.forEach(settle), 500);

  Live.wait = { add };
}
