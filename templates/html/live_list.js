// The live checklist: the list of all steps, as the page has it.

{
  const { make, say, page, job, store, count, bench, clock } = Live;

  // The bar

  const done = make("span", { class: "count" });
  const rest = make("span", { class: "rest" });
  const progress = make("p", { class: "progress", role: "status" }, done, " ", rest);
  const next = make("a", { href: "#main", class: "next" });
  next.addEventListener("click", (event) => {
    const step = count.now().next;
    if (!step) return;
    event.preventDefault();
    Live.goTo(step);
  });
  const row = make("div", { class: "bar-row" }, progress, clock.text, clock.button(), next, bench.opener);
  Live.bar.append(row, Live.messages);

  function showProgress() {
    const now = count.now();
    const isComplete = now.items.length === 0;
    const places = { done: now.done, all: now.all };
    const [progressKey, completeKey] = page.isChecklist ? ["progress", "complete"] : ["progress-rows", "complete-rows"];
    Live.setText(done, say(isComplete ? completeKey : progressKey, places));
    // At the bench, only what was passed over is missing.
    const passed = bench.isOpen && { ...count.of(bench.stepsBefore()), out: now.out };
    Live.setText(rest, count.sayRest(passed || now));
    Live.bar.classList.toggle("is-out", now.out.length > 0);
    // Before the first entry, the next step is the first one, which is below.
    next.hidden = !now.next || !job.hasBegun;
    if (!now.next) return;
    next.href = `#${now.next.element.id}`;
    Live.setText(next, say("next", { step: page.nameOf(now.next) }));
    for (const step of page.steps) step.element.classList.toggle("done", count.isDone(step));
  }

  // What is missing and out of limits, beside the signature

  const summary = make("div", { class: "rest-list" });

  function showSummary() {
    const { items, out } = count.now();
    const link = (step, text = page.nameOf(step)) => make("a", { href: `#${step.element.id}` }, text);
    const parts = [];
    if (out.length) {
      const lines = out.map(({ step, name, value, word, limits }) =>
        make("li", {}, link(step), `: ${name} `, make("strong", {}, value), ` (${word}; ${limits})`),
      );
      parts.push(make("p", { class: "rest-title" }, say("out-title")), make("ul", { class: "out-list" }, ...lines));
    }
    const open = [...new Set(items.map((item) => item.step))].filter((step) => step.kind !== "sign-off");
    if (open.length) {
      const links = open.map((step) => make("li", {}, link(step, step.number ?? step.text[0])));
      parts.push(make("p", { class: "rest-title" }, say("missing-title")), make("ul", { class: "missing-list" }, ...links));
    }
    summary.replaceChildren(...(job.hasBegun ? parts : []));
  }

  // What is stored

  function showStored() {
    const places = { count: job.unstored };
    if (store.trouble === "full") Live.warn(say("storage-full", places));
    else if (store.trouble) Live.warn(say("storage-refused", places));
    else Live.warn("");
  }

  Live.onChange(() => {
    showProgress();
    showSummary();
    showStored();
    document.body.classList.toggle("begun", job.hasBegun);
  });

  Live.onView(showProgress);

  document.querySelector("table.sign-off")?.closest(".scroll")?.before(summary);
}
