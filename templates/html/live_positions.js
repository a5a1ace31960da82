// The live checklist: the positions in which parts were found, in the steps that put them back.

{
  const { make, say, page, job } = Live;

  /** The last ask before a step that notes a part's position. */
  const askBefore = (step, part) =>
    page.steps
      .slice(0, page.steps.indexOf(step))
      .flatMap((earlier) => earlier.asks)
      .filter((ask) => ask.noted === part)
      .at(-1);

  const places = [];
  for (const step of page.steps.filter((one) => one.kind === "step")) {
    for (const detail of step.element.querySelectorAll(".details > [data-noted]")) {
      const ask = askBefore(step, detail.dataset.noted);
      if (!ask) continue;
      const found = make("strong", { class: "found" });
      detail.querySelector("dd").append(" ", found);
      places.push({ ask, found });
    }
  }

  Live.onChange(() => {
    for (const { ask, found } of places) {
      const value = job.valueOf(ask);
      found.hidden = value === null;
      Live.setText(found, value === null ? "" : say("found-in", { position: value.text ?? value }));
    }
  });
}
