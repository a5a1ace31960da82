// The live checklist: holds. Until a hold is signed, nothing behind it can be filled in.

{
  const { say, page, job } = Live;
  /** Each hold: its step and the ask of its signature, in the order of the sheet. */
  const holds = [];

  const isOpen = ({ step, ask }) => job.valueOf(ask) === null && !Live.outcomes.isNotNeeded(step);

  /** The first unsigned hold before a step, or null. */
  function before(step) {
    const index = page.steps.indexOf(step);
    if (index < 0) return null;
    return holds.find((hold) => page.steps.indexOf(hold.step) < index && isOpen(hold)) ?? null;
  }

  Live.holds = {
    add: (step, ask) => holds.push({ step, ask }),
    before,

    /** Who has to sign at a step before the work goes on. Null if nobody has, or everybody did. */
    openAt(step) {
      const hold = holds.find((one) => one.step === step && isOpen(one));
      return hold ? hold.ask.label : null;
    },

    /** Whether a step can't be filled in yet. If so, it is said, with a link to the hold. */
    refuses(step) {
      const hold = before(step);
      if (!hold) return false;
      Live.tell(say("held", { number: hold.step.number, role: hold.ask.label }), { step: hold.step });
      return true;
    },
  };

  Live.onChange(() => {
    const open = holds.find(isOpen);
    const last = open ? page.steps.indexOf(open.step) : Infinity;
    page.steps.forEach((step, index) => {
      const isHeld = index > last;
      if (step.element.classList.contains("held") === isHeld) return;
      step.element.classList.toggle("held", isHeld);
      for (const control of step.element.querySelectorAll("input, textarea, button")) {
        if ("readOnly" in control && !["checkbox", "radio"].includes(control.type)) control.readOnly = isHeld;
        if (isHeld) control.setAttribute("aria-disabled", "true");
        else control.removeAttribute("aria-disabled");
      }
    });
  });
}
