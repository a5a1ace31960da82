// The live checklist: what the page asks.
//
// A step is whatever is filled in as one: a step of the job, the signature for a group of steps, a signature at the end,
// and on a kit list or a fault table a row with something to tick.
// The signatures get ids from the steps that they are for: if one of these changes, it has to be signed again.
//
// A step has asks, one for each entry, and items, one for each thing that has to be done: a reading has one item and two
// asks, as found and as left.

{
  const { say, plain } = Live;
  const { SHEET } = Live.record;
  const language = document.documentElement.lang;

  const steps = [];
  const byId = new Map();
  /** Every ask by its key. */
  const asks = new Map();

  const sectionOf = (element) => {
    const title = element.closest("section")?.querySelector("h2, h3");
    return title ? plain(title) : "";
  };

  function addStep(kind, element, { id, like, number = null, text }) {
    const name = element.id || `${kind}-${steps.length}`;
    const step = { kind, element, name, id, like, number, text, section: sectionOf(element), asks: [], items: [] };
    steps.push(step);
    byId.set(id, step);
    return step;
  }

  /** The texts of a step of the job, a line each. They are read before the script changes anything. */
  const textsOf = (line) =>
    [...line.querySelectorAll(".what > p, .details > div, .blanks > li, .wear tbody tr, .hold")].map(plain);

  const digest = (...texts) => Live.sha256(texts.join(" ")).slice(0, 8);

  function find() {
    let group = [];
    const all = [];
    for (const element of document.querySelectorAll(".lines > li, .stop-here")) {
      if (element.matches(".lines > li")) {
        const { id, like = "" } = element.dataset;
        addStep("step", element, { id, like, number: Number(element.id.slice("step-".length)), text: textsOf(element) });
        group.push(id);
        all.push(id);
      } else {
        const text = [plain(element.querySelector(".stop-title"))];
        // Groups are alike if they end with the same step.
        addStep("group", element, { id: `g${digest(...group)}`, like: `g${digest(group.at(-1) ?? "")}`, text });
        group = [];
      }
    }
    document.querySelectorAll("table.sign-off tbody tr").forEach((row, index) => {
      const text = [plain(row.cells[0]), plain(row.cells[1])];
      const like = `s${digest(String(index), plain(row.cells[1]))}`;
      addStep("sign-off", row, { id: `s${digest(like, ...all)}`, like, text });
    });
    if (!all.length) findRows();
    byId.set(SHEET, { kind: "sheet", name: SHEET, id: SHEET, like: "", number: null, section: "", text: [], asks: [], items: [] });
  }

  /** The rows of tables in which something is ticked or written. What a row says is its id, as for a step. */
  function findRows() {
    for (const row of document.querySelectorAll("main tbody tr")) {
      if (row.closest("table.sign-off") || !row.querySelector(".tick, td.blank")) continue;
      const text = [...row.cells].map(plain).filter(Boolean);
      const caption = plain(row.closest("table").caption);
      let id = `r${digest(caption, ...text)}`;
      while (byId.has(id)) id += "-2";
      row.id ||= `row-${steps.length + 1}`;
      addStep("row", row, { id, like: `r${digest(caption, text[0] ?? "")}`, text });
    }
  }

  /**
   * Adds an ask to a step.
   *
   * `takes` says whether it accepts a value, `show` shows a value or null. `kind`, `label` and what `about` gives are
   * for the record. `noted` is the part whose position it is, if any.
   */
  function addAsk(step, field, { kind, label, about = () => ({}), noted = null, takes, show }) {
    const ask = { step, field, key: Live.record.keyOf(step.id, field), kind, label, about, noted, takes, show };
    step.asks.push(ask);
    asks.set(ask.key, ask);
    return ask;
  }

  /**
   * Adds an item to a step.
   *
   * `kind` is what is counted: "tick", "reading", "position", "choice", "note" or "signature". `isMissing` says whether
   * it still has to be done. `out` gives what a reading out of its limits says, or null.
   */
  function addItem(step, kind, isMissing, out = () => null) {
    step.items.push({ step, kind, isMissing: () => !Live.outcomes.isNotNeeded(step) && isMissing(), out });
  }

  /** What a step says now, for the record. */
  const snapshotOf = ({ id, like, number, section, text, asks: given }) => ({
    id, like, number, section, language, text,
    asks: given.map(({ field, kind, label, about }) => ({ field, kind, label, ...about() })),
  });

  const nameOf = (step) => (step.number === null ? step.text[0] : say("step", { number: step.number }));

  find();
  /** Whether the page has steps of a job, and not only rows of tables. */
  const isChecklist = steps.some(({ kind }) => kind === "step");
  Live.page = { isChecklist, steps, byId, asks, addAsk, addItem, snapshotOf, nameOf, whole: byId.get(SHEET) };
}
