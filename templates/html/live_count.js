// The live checklist: what is done, what is missing, and what is out of limits.

{
  const { say, sayCount, page } = Live;

  /** What is counted as missing, in the order in which it is said. A step's tick is counted with the steps. */
  const COUNTED = {
    reading: (number) => sayCount("one-reading", "readings", number),
    position: (number) => sayCount("one-position", "positions", number),
    choice: (number) => sayCount("one-choice", "choices", number),
    note: (number) => sayCount("one-note", "notes", number),
    signature: (number) => sayCount("one-signature", "signatures", number),
  };
  const KINDS = Object.keys(COUNTED);

  const isDone = (step) => step.items.every((item) => !item.isMissing());

  /** The readings out of limits, each with its step. A later value of the same reading replaces an earlier one. */
  function outOfLimits() {
    const last = new Map();
    for (const step of page.steps) {
      step.items.forEach((item, index) => {
        const result = item.out();
        if (!result?.isValued) return;
        // A reading without a name of its own stands alone.
        last.set(result.of ?? `${step.id} ${index}`, { step, ...result });
      });
    }
    return [...last.values()].filter((result) => result.out).map(({ step, out }) => ({ step, ...out }));
  }

  /** Everything that is missing, as the items' kinds and steps. */
  function missing() {
    return page.steps.flatMap((step) => step.items.filter((item) => item.isMissing()));
  }

  const byKind = (open) =>
    Object.fromEntries(KINDS.map((kind) => [kind, open.filter((item) => item.kind === kind).length]));

  function count() {
    const open = missing();
    const jobSteps = page.steps.filter((step) => step.kind === (page.isChecklist ? "step" : "row"));
    return {
      done: jobSteps.filter(isDone).length,
      all: jobSteps.length,
      missing: byKind(open),
      out: outOfLimits(),
      next: page.steps.find((step) => !isDone(step)) ?? null,
      items: open,
    };
  }

  /** "3 readings, 2 signatures missing; 1 out of limits". Empty if nothing is. */
  function sayRest({ missing: open, out }) {
    const parts = KINDS.filter((kind) => open[kind]).map((kind) => COUNTED[kind](open[kind]));
    const texts = [];
    if (parts.length) texts.push(say("missing", { what: parts.join(", ") }));
    if (out.length) texts.push(say("out-of-limits", { count: out.length }));
    return texts.join("; ");
  }

  let latest = null;
  Live.onChange(() => {
    latest = null;
  });

  Live.count = {
    isDone,
    sayRest,
    /** What is missing at some steps, to be said. */
    of: (steps) => ({ missing: byKind(missing().filter(({ step }) => steps.includes(step))), out: [] }),
    /** The count of the entries as they are now. */
    now: () => (latest ??= count()),
  };

  /** Where the job is, for the front page. */
  Live.state = () => {
    latest = null;
    const { done, all, out, next, items } = Live.count.now();
    return { done, all, step: next?.number ?? null, out: out.length, missing: items.length };
  };
}
