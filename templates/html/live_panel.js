// The live checklist: the panel of the job: its number and the other fields of the head, export and import, and the
// other jobs of this sheet on this device.

{
  const { make, say, page, job, store, files, record: R } = Live;
  const { nameOfJob } = files;

  // The fields of the head

  let jobInput = make("input");
  const numbers = make("datalist", { id: "job-numbers" });

  document.querySelectorAll(".entries li").forEach((li) => {
    const name = li.dataset.entry;
    const label = Live.plain(li);
    const slot = make("span", { class: "entry" });
    if (name === "job-number") {
      jobInput = make("input", {
        id: "job-number",
        class: "entry",
        type: "text",
        autocomplete: "off",
        maxlength: 60,
        list: numbers.id,
      });
      const paper = make("span", { class: "entry paper", "aria-hidden": "true" });
      jobInput.addEventListener("shown", () => {
        jobInput.value = job.number;
        paper.textContent = job.number;
      });
      const whole = make("span", { class: "field" }, jobInput, paper);
      li.replaceChildren(make("label", { for: jobInput.id }, label), whole, numbers);
      return;
    }
    const { input, whole } = Live.controls.field(page.whole, name, slot, { kind: "text", label });
    li.replaceChildren(make("label", { for: input.id }, label), whole);
  });

  jobInput.addEventListener("change", () => {
    const [before, number] = [job.number, jobInput.value.trim()];
    if (number === before) return;
    const isThere = job.hasEntries(number);
    if (isThere || !job.hasBegun) {
      job.open(number);
      if (isThere) Live.tell(say("opened", { job: nameOfJob(number), before: nameOfJob(before) }));
    } else if (before === "") {
      job.rename(number);
      Live.tell(say("moved", { job: nameOfJob(number) }));
    } else {
      // This may be another job or a typing error, so the person must decide.
      const carried = job.record;
      job.open(number);
      const text = say("new-job", { job: nameOfJob(number), before: nameOfJob(before) });
      const move = () => {
        job.replace(carried);
        job.rename(number);
        Live.tell(say("moved", { job: nameOfJob(number) }));
      };
      Live.tell(text, { acts: [Live.button(say("take-along", { before: nameOfJob(before) }), move)] });
    }
  });

  // Actions on all entries

  const fileInput = make("input", {
    type: "file",
    class: "unseen",
    id: "import",
    accept: ".json,application/json",
    change: () => {
      const [file] = fileInput.files;
      if (file) files.importFile(file);
      fileInput.value = "";
    },
  });

  const clear = Live.twice(
    say("clear"),
    () => say("clear-sure", { count: R.count(job.record) }),
    () => {
      const photos = Live.photos.of(job.record);
      job.clear();
      Live.photos.forget(photos);
      Live.tell(say("cleared", { job: nameOfJob(job.number) }));
    },
  );

  const stored = make("p", { class: "stored" });
  const others = make("div", { class: "acts" });
  const lost = make("div", { class: "lost" });

  function showOthers() {
    const found = job.others();
    numbers.replaceChildren(...found.filter(Boolean).map((number) => make("option", { value: number })));
    others.replaceChildren(
      ...found.map((number) => Live.button(say("open-job", { job: nameOfJob(number) }), () => job.open(number))),
    );
  }

  /** Entries of steps that are gone, and stored texts that can't be read. */
  function showLost() {
    const parts = Live.changes.gone().map(({ name, entries }) => make("li", {}, `${name}: ${entries}`));
    const gone = parts.length ? [make("p", {}, say("gone")), make("ul", {}, ...parts)] : [];
    const unreadable = store.unreadable(Live.sheet.sheet).map(({ name, job: number, text }) => {
      const notice = make("div", { class: "unreadable" }, make("p", {}, say("unreadable", { job: nameOfJob(number) })));
      const remove = () => {
        store.remove(name);
        notice.remove();
      };
      notice.append(
        Live.button(say("export-unreadable"), () => files.handOut(text, `${number} unreadable`)),
        Live.twice(say("forget"), () => say("forget-sure"), remove),
      );
      return notice;
    });
    lost.replaceChildren(...gone, ...unreadable);
  }

  const panel = make(
    "section",
    { class: "keep", "aria-label": say("keep-title") },
    stored,
    make("p", {}, Live.clock.button()),
    make(
      "div",
      { class: "acts" },
      Live.button(say("export"), files.exportJob),
      make("label", { class: "button" }, fileInput, make("span", {}, say("import"))),
      clear,
    ),
    others,
    lost,
  );

  Live.onChange(() => {
    const number = R.count(job.record);
    const text = number
      ? say("stored", { count: number - job.unstored, time: Live.sayTime(job.record.saved) })
      : say("keep");
    Live.setText(stored, text);
  });

  Live.onOpen(() => {
    jobInput.dispatchEvent(new Event("shown"));
    showOthers();
    showLost();
  });

  Live.panel = panel;
}
