// The live checklist: entries of an earlier version of the sheet.
//
// An entry belongs to a step by the step's id, which depends on everything that the step asks. A step whose content has
// changed has another id, so it asks again. What was entered before stays in the record, and the step says what has
// changed.

{
  const { make, say, page, record: R } = Live;
  const language = document.documentElement.lang;

  const words = (text) => text.split(/\s+/).filter(Boolean);

  /** The longest common sequence of two lists, as pieces: { kind: "same" | "old" | "new", list }. */
  function difference(before, after) {
    const lengths = Array.from({ length: before.length + 1 }, () => new Uint16Array(after.length + 1));
    for (let row = before.length - 1; row >= 0; row -= 1) {
      for (let column = after.length - 1; column >= 0; column -= 1) {
        lengths[row][column] =
          before[row] === after[column]
            ? lengths[row + 1][column + 1] + 1
            : Math.max(lengths[row + 1][column], lengths[row][column + 1]);
      }
    }
    const pieces = [];
    const push = (kind, word) => {
      if (pieces.at(-1)?.kind !== kind) pieces.push({ kind, list: [] });
      pieces.at(-1).list.push(word);
    };
    let [row, column] = [0, 0];
    while (row < before.length || column < after.length) {
      if (row < before.length && column < after.length && before[row] === after[column]) {
        push("same", before[row]);
        row += 1;
        column += 1;
      } else if (column === after.length || (row < before.length && lengths[row + 1][column] >= lengths[row][column + 1])) {
        push("old", before[row]);
        row += 1;
      } else {
        push("new", after[column]);
        column += 1;
      }
    }
    return pieces;
  }

  /** How alike two texts are, from 0 to 1: the share of the words that they have in common, in order. */
  function likeness(before, after) {
    const [one, other] = [words(before.join(" ")), words(after.join(" "))];
    if (!one.length || !other.length) return 0;
    const pieces = difference(one.slice(0, 400), other.slice(0, 400)).filter(({ kind }) => kind === "same");
    const same = pieces.reduce((sum, { list }) => sum + list.length, 0);
    return (2 * same) / (one.length + other.length);
  }

  /** The least likeness at which a step is taken for a changed one, if nothing else connects them. */
  const ALIKE = 0.5;

  /** The earlier steps of a record with entries that are not on this page, each with the step here that it became. */
  function find(record) {
    const isKept = (id) => [...record.entries].some(([key, entry]) => R.stepOf(key) === id && R.isSet(entry));
    const old = [...record.steps.values()].filter(({ id }) => !page.byId.has(id) && isKept(id));
    const free = page.steps.filter((step) => !record.steps.has(step.id) || !isKept(step.id));
    const pairs = old.map((snapshot) => {
      const matches = page.steps.filter((step) => step.like !== "" && step.like === snapshot.like);
      const now = matches.find((step) => free.includes(step)) ?? matches[0] ?? null;
      if (now && free.includes(now)) free.splice(free.indexOf(now), 1);
      return { before: snapshot, now };
    });
    for (const pair of pairs.filter(({ now }) => !now)) {
      const rated = free
        .filter((step) => step.kind === "step" && /^[0-9a-f]/.test(pair.before.id))
        .map((step) => ({ step, like: likeness(pair.before.text, step.text) }))
        .sort((one, other) => other.like - one.like);
      if (rated.length && rated[0].like >= ALIKE) {
        pair.now = rated[0].step;
        free.splice(free.indexOf(pair.now), 1);
      }
    }
    return pairs;
  }

  /**
   * Gives the entries of a step to a step here that reads the same. Its id can differ nevertheless, after a new version
   * of the program that made the page.
   */
  function settle(record) {
    for (const { before, now } of find(record)) {
      if (!now || before.language !== language) continue;
      // A signature is for steps, which may have changed although its own text has not.
      if (now.kind !== "step") continue;
      const snapshot = page.snapshotOf(now);
      const content = ({ text, asks }) => JSON.stringify([text, asks.filter(({ kind }) => kind !== "photo").map(({ field, kind, label }) => [field, kind, label])]);
      if (content(snapshot) !== content(before)) continue;
      for (const { field } of before.asks) {
        const [from, to] = [R.keyOf(before.id, field), R.keyOf(now.id, field)];
        const entry = record.entries.get(from);
        if (!entry || record.entries.has(to)) continue;
        record.entries.set(to, entry);
        record.entries.delete(from);
      }
      record.steps.set(now.id, snapshot);
    }
  }

  // What is shown

  /** The entries of an earlier step, as text: "done; belt deflection, as found: 18,5 mm". */
  function entriesOf(record, snapshot) {
    const labels = new Map(snapshot.asks.map((ask) => [ask.field, ask]));
    const texts = [];
    for (const [key, { value }] of record.entries) {
      if (R.stepOf(key) !== snapshot.id || value === null) continue;
      const known = labels.get(R.fieldOf(key)) ?? {};
      const { label, unit = "" } = value.photo ? { label: say("photo") } : { label: "", ...known };
      const text = value === true ? "" : typeof value === "string" ? value : (value.text ?? "");
      texts.push([label, `${text} ${text && unit}`.trim()].filter(Boolean).join(": "));
    }
    return texts.join("; ");
  }

  /** The earlier text with what was taken out and put in, or the earlier text alone if it is in another language. */
  function changeOf(snapshot, step) {
    if (snapshot.language !== language) {
      return make("p", { class: "was", lang: snapshot.language }, snapshot.text.join(" "));
    }
    const pieces = difference(words(snapshot.text.join(" ")), words(step.text.join(" ")));
    const tags = { same: "span", old: "del", new: "ins" };
    const parts = pieces.map(({ kind, list }) => make(tags[kind], {}, list.join(" ")));
    return make("p", { class: "was" }, ...parts.flatMap((part) => [part, " "]));
  }

  let shown = [];
  let list = [];

  function showAll() {
    shown.forEach((element) => element.remove());
    shown = [];
    const { record } = Live.job;
    const pairs = find(record);
    for (const { before, now } of pairs) {
      if (!now) continue;
      const notice = make(
        "div",
        { class: "changed", role: "note" },
        make("p", {}, make("strong", {}, say("changed-step")), " ", say("entered-before", { what: entriesOf(record, before) })),
        changeOf(before, now),
      );
      const target = now.element.querySelector?.(".what") ?? now.element;
      if (now.element.tagName === "TR") {
        const cell = make("td", { colspan: now.element.cells.length }, notice);
        const row = make("tr", { class: "changed-row" }, cell);
        now.element.after(row);
        shown.push(row);
      } else {
        target.prepend(notice);
        shown.push(notice);
      }
    }
    list = pairs.filter(({ now }) => !now).map(({ before }) => before);
  }

  Live.onOpen(showAll);

  Live.changes = {
    settle,
    /** The number of changed steps with earlier entries. */
    count: () => shown.length,
    /** The steps with entries that are no longer on the sheet, as texts. */
    gone: () =>
      list.map((snapshot) => ({ name: snapshot.text[0] ?? "", entries: entriesOf(Live.job.record, snapshot) })),
    difference,
    likeness,
  };
}
