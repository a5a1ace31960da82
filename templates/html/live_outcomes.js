// The live checklist: steps that depend on what is found. A step that is not needed asks for nothing.

{
  const { page } = Live;
  /** For each thing, the entries that say what was found: the step of each, and what it says, or null. */
  const sources = new Map();

  function add(step, thing, says) {
    if (!sources.has(thing)) sources.set(thing, []);
    sources.get(thing).push({ step, says });
  }

  /**
   * What was found of a thing before a step: of a reading "over", "under" or "within", of a part "reuse" or "renew", and
   * null if it is not known. The last measurement counts; a part is renewed if anything found on it says so.
   */
  function found(thing, before) {
    const last = page.steps.indexOf(before);
    const said = (sources.get(thing) ?? []).filter(({ step }) => page.steps.indexOf(step) < last).map(({ says }) => says());
    if (said.includes("renew")) return "renew";
    if (said.includes("reuse")) return said.includes(null) ? null : "reuse";
    return said.findLast((one) => one !== null) ?? null;
  }

  /** Whether it is known that a step is not to be done. */
  function isNotNeeded(step) {
    const { if: thing, outcomes } = step.element?.dataset ?? {};
    if (!thing) return false;
    const said = found(thing, step);
    return said !== null && !outcomes.split(" ").includes(said);
  }

  Live.outcomes = { add, isNotNeeded };

  Live.onChange(() => {
    for (const step of page.steps) {
      if (!step.element.dataset.if) continue;
      const isOff = isNotNeeded(step);
      step.element.classList.toggle("not-needed", isOff);
      step.element.querySelector(".only-if .tick")?.classList.toggle("ticked", isOff);
    }
  });
}
