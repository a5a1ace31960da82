// The live checklist: the open job, and what is stored of it.
//
// Each job number on a sheet has a record of its own. A second window on the same job is merged entry by entry: before
// a write, what is stored is read again, and a write in the other window is taken over at once.

{
  const { sheet, store, page } = Live;
  const R = Live.record;
  /** The number of the job that was open last. */
  const LAST = `benchleaf-last ${JSON.stringify([sheet.sheet])}`;

  let record = R.empty();
  /** The number of changes when the record was last stored. */
  let storedChanges = 0;

  const nameOf = (number) => store.nameOf(sheet.sheet, number);

  /** The stored record of a job. Null if there is none, or none that can be read. */
  function stored(number) {
    const text = store.read(nameOf(number));
    if (text === null) return null;
    try {
      return R.read(text, sheet.sheet).record;
    } catch (error) {
      if (!(error instanceof R.Refusal)) throw error;
      store.setAside(nameOf(number), sheet.sheet, number);
      return null;
    }
  }

  /** What the page says of the sheet, for the record. */
  const about = () => ({
    ...sheet,
    serial: String(job.value(R.SHEET, "serial-number") ?? ""),
    language: document.documentElement.lang,
    state: Live.state(),
  });

  function write() {
    const text = JSON.stringify(R.toData(record, about()));
    if (store.write(nameOf(record.job), text)) storedChanges = record.n;
    store.write(LAST, record.job);
  }

  function save() {
    const other = stored(record.job);
    if (other && R.merge(record, other)) showAll();
    write();
    Live.changed();
  }

  function showAll() {
    for (const ask of page.asks.values()) ask.show(job.valueOf(ask));
    Live.opened();
  }

  const job = {
    get record() {
      return record;
    },
    get number() {
      return record.job;
    },
    /** The number of entries that the browser did not store. */
    get unstored() {
      return [...record.entries.values()].filter((entry) => entry.n > storedChanges).length;
    },
    get hasBegun() {
      return R.count(record) > 0;
    },

    value: (step, field) => record.entries.get(R.keyOf(step, field))?.value ?? null,

    /** The value of an ask, if it has one that its control accepts. */
    valueOf(ask) {
      const value = record.entries.get(ask.key)?.value ?? null;
      return value !== null && ask.takes(value) ? value : null;
    },

    /** Sets an entry. An empty value takes it back. */
    enter(ask, value) {
      const isEmpty = value === null || value === false || value === "";
      R.enter(record, ask.key, isEmpty ? null : value, () => page.snapshotOf(ask.step));
      save();
    },

    /** Adds the entries of another record of this job. */
    add(other) {
      R.merge(record, other);
      showAll();
      save();
    },

    /** Replaces the record by another of the same or another job. */
    replace(other) {
      record = other;
      write();
      showAll();
      Live.changed();
    },

    /** Takes every entry back. */
    clear() {
      for (const key of record.entries.keys()) {
        const step = R.stepOf(key);
        R.enter(record, key, null, () => record.steps.get(step) ?? page.snapshotOf(page.byId.get(step)));
      }
      save();
      showAll();
    },

    open(number) {
      record = stored(number) ?? R.empty(number);
      storedChanges = record.n;
      store.write(LAST, number);
      Live.changes.settle(record);
      showAll();
      Live.changed();
    },

    openLast() {
      job.open(store.read(LAST) ?? "");
    },

    /** Gives the open job another number. What was stored under the old one is removed when the new one is stored. */
    rename(number) {
      const before = nameOf(record.job);
      record.job = number;
      const text = JSON.stringify(R.toData(record, about()));
      if (store.move(before, nameOf(number), text)) storedChanges = record.n;
      store.write(LAST, number);
      Live.opened();
      Live.changed();
    },

    /** The numbers of the stored jobs of this sheet that have entries, the open one not among them. */
    others() {
      const records = store.records().filter((one) => one.sheet === sheet.sheet && one.job !== record.job);
      return records.map((one) => one.job).filter((number) => job.hasEntries(number));
    },

    hasEntries(number) {
      const found = stored(number);
      return found !== null && R.count(found) > 0;
    },

    stored,
    about,
  };

  addEventListener("storage", (event) => {
    if (event.key !== nameOf(record.job) || event.newValue === null) return;
    const other = stored(record.job);
    if (!other) return;
    const isBehind = [...record.entries].some(([key, entry]) => R.isNewer(entry, other.entries.get(key)));
    const isChanged = R.merge(record, other);
    if (isBehind) write();
    storedChanges = store.trouble ? storedChanges : record.n;
    if (isChanged) {
      showAll();
      Live.changed();
    }
  });

  addEventListener("beforeunload", (event) => {
    if (store.trouble && job.unstored) event.preventDefault();
  });

  Live.job = job;
}
