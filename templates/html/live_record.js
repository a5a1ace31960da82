// The live checklist: the record of one job on one sheet, in memory, in storage and in a file.
//
// In memory a record has its entries by key. A key is a step and a field: `3fa2b1c0 tick`. A step's id depends on what
// the step asks and not on its number or language, so an entry stays with its step when the sheet changes.
//
// In storage and in a file it is one object, the same but for `photos` and `digest`, which only a file has:
//
//   { "format": "benchleaf-checklist", "version": 2,
//     "sheet": "tarn-yarrow/float-bowl-bench-checklist", "path": "es/tarn-yarrow/float-bowl-bench-checklist",
//     "shop": "...", "title": "...", "machine": "...", "serial": "TY-0113", "language": "en-GB",
//     "revision": 4, "revised": "2026-11-28", "mark": "dd7e3d77",
//     "job": "2041",                         "" if there is no job number
//     "begun": "2026-03-02T09:10:02.031Z", "saved": "2026-03-02T09:12:44.120Z",
//     "state": { "done": 12, "all": 79, "step": 13, "out": 1, "missing": 80 },
//     "steps": [
//       { "id": "3fa2b1c0", "like": "91ab34de", "number": 12, "section": "Set", "language": "en-GB",
//         "text": ["Measure the deflection of the belt.", "..."],
//         "asks": [
//           { "field": "0.0", "kind": "reading", "label": "belt deflection, as found", "limits": "10 mm to 14 mm",
//             "unit": "mm", "least": "10", "most": "14", "verdict": "over",
//             "value": "18,5", "n": 31, "at": "2026-03-02T09:12:44.120Z" } ] } ],
//     "photos": [ { "id": "91ab34de91ab34de", "data": "data:image/jpeg;base64,..." } ],    only in a file, if there are any
//     "digest": "sha256:..." }
//
// The step `sheet` has what belongs to no step: the fields of the head, the signatures at the end, the clock. A value
// is true for a tick, a text, { "option": 1, "text": "rear slot" } for a choice, { "ms": 61000, "since": null } for a
// clock, { "photo": "91ab34de91ab34de" } for a photo, and null if an entry was taken back. `n` counts the changes of the record: of two values of an entry, the one
// with the larger `n` is the newer. So a wrong clock loses nothing; `at` is only information.

{
  const FORMAT = "benchleaf-checklist";
  const VERSION = 2;
  /** The longest text of an entry. */
  const LONGEST = 4000;
  const MOST_STEPS = 5000;
  const MOST_ASKS = 500;
  /** A field of a step, and the id of a step. */
  const NAME = /^[a-z0-9][a-z0-9.-]{0,63}$/;
  /** The step of everything that belongs to no step. */
  const SHEET = "sheet";

  /** Why a file or a stored record can't be read: the key of a text and its places. */
  class Refusal extends Error {
    constructor(key, places = {}) {
      super(key);
      this.key = key;
      this.places = places;
    }
  }

  const keyOf = (step, field) => `${step} ${field}`;
  const stepOf = (key) => key.split(" ")[0];
  const fieldOf = (key) => key.split(" ")[1];

  const empty = (job = "") => ({ job, begun: null, saved: null, n: 0, entries: new Map(), steps: new Map() });

  // Changes

  const isSet = (entry) => entry !== undefined && entry.value !== null;

  /** Sets an entry, or takes it back with null. `snapshot` gives what its step says now. */
  function enter(record, key, value, snapshot, now = new Date()) {
    const at = now.toISOString();
    record.n += 1;
    record.begun ??= at;
    record.saved = at;
    record.entries.set(key, { value, n: record.n, at });
    record.steps.set(stepOf(key), snapshot());
  }

  const count = (record) => [...record.entries.values()].filter(isSet).length;

  /** Whether an entry is newer than another of the same key. The order is the same on every device. */
  function isNewer(entry, other) {
    if (!other || entry.n !== other.n) return !other || entry.n > other.n;
    if (entry.at !== other.at) return entry.at > other.at;
    return JSON.stringify(entry.value) > JSON.stringify(other.value);
  }

  const isSame = (entry, other) => JSON.stringify(entry?.value ?? null) === JSON.stringify(other?.value ?? null);

  /** Adds the entries of another record of the job, each if it is newer. Returns whether anything changed. */
  function merge(record, other) {
    let isChanged = false;
    for (const [key, entry] of other.entries) {
      if (!isNewer(entry, record.entries.get(key))) continue;
      record.entries.set(key, entry);
      const snapshot = other.steps.get(stepOf(key));
      if (snapshot) record.steps.set(stepOf(key), snapshot);
      isChanged = true;
    }
    record.n = Math.max(record.n, other.n);
    if (other.begun && (!record.begun || other.begun < record.begun)) record.begun = other.begun;
    if (other.saved && (!record.saved || other.saved > record.saved)) record.saved = other.saved;
    return isChanged;
  }

  /** The keys whose values differ in two records, both not taken back. */
  const conflicts = (record, other) =>
    [...other.entries.keys()].filter((key) => {
      const [entry, found] = [record.entries.get(key), other.entries.get(key)];
      return isSet(entry) && isSet(found) && !isSame(entry, found);
    });

  // Writing

  /** The object of a record. `about` is what the page says of the sheet; `all` are snapshots of steps without entries. */
  function toData(record, about, all = []) {
    const steps = new Map([...record.steps, ...all.map((step) => [step.id, step])]);
    const order = new Map(all.map((step, index) => [step.id, index]));
    const place = (step) => order.get(step.id) ?? all.length;
    const asks = ({ id, asks: given }) => {
      const known = new Map(given.map((ask) => [ask.field, ask]));
      for (const key of record.entries.keys()) {
        const field = fieldOf(key);
        if (stepOf(key) === id && !known.has(field)) {
          known.set(field, { field, kind: field.startsWith("photo.") ? "photo" : "other", label: "" });
        }
      }
      return [...known.values()].map((ask) => ({ ...ask, ...record.entries.get(keyOf(id, ask.field)) }));
    };
    return {
      format: FORMAT,
      version: VERSION,
      ...about,
      job: record.job,
      begun: record.begun,
      saved: record.saved,
      steps: [...steps.values()]
        .sort((one, other) => place(one) - place(other))
        .map((step) => ({ ...step, asks: asks(step) })),
    };
  }

  // Reading

  const IS = {
    object: (value) => typeof value === "object" && value !== null && !Array.isArray(value),
    list: (value) => Array.isArray(value),
    text: (value) => typeof value === "string" && value.length <= LONGEST,
    name: (value) => typeof value === "string" && NAME.test(value),
    tag: (value) => typeof value === "string" && /^[A-Za-z0-9-]{1,35}$/.test(value),
    count: (value) => Number.isSafeInteger(value) && value >= 0,
    photo: (value) => typeof value === "string" && /^[0-9a-f]{16}$/.test(value),
    time: (value) => typeof value === "string" && value.length < 40 && !Number.isNaN(Date.parse(value)),
  };

  /** A value that has to be of a kind. `place` is where it is: `steps[3].asks[0].value`. */
  function need(kind, value, place) {
    if (!IS[kind](value)) throw new Refusal("bad-value", { place, kind });
    return value;
  }
  const needOrNull = (kind, value, place) => (value === null ? null : need(kind, value, place));
  const optional = (kind, value, place) => (value === undefined ? undefined : need(kind, value, place));

  /** A value of an entry, whatever its step asks. What a step accepts is checked by the page that has the step. */
  function readValue(value, place) {
    if (value === null || value === true) return value;
    if (typeof value === "string") return need("text", value, place);
    if (!IS.object(value)) throw new Refusal("bad-value", { place, kind: "value" });
    if ("option" in value) {
      const option = need("count", value.option, `${place}.option`);
      return { option, text: need("text", value.text, `${place}.text`) };
    }
    if ("photo" in value) return { photo: need("photo", value.photo, `${place}.photo`) };
    const since = needOrNull("time", value.since, `${place}.since`);
    return { ms: need("count", value.ms, `${place}.ms`), since };
  }

  const ASK_TEXTS = ["limits", "unit", "least", "most", "verdict"];

  function readAsk(ask, place, mostChanges) {
    need("object", ask, place);
    const snapshot = {
      field: need("name", ask.field, `${place}.field`),
      kind: need("name", ask.kind, `${place}.kind`),
      label: need("text", ask.label, `${place}.label`),
    };
    for (const name of ASK_TEXTS) {
      const text = optional("text", ask[name], `${place}.${name}`);
      if (text !== undefined) snapshot[name] = text;
    }
    if (ask.options !== undefined) {
      const options = need("list", ask.options, `${place}.options`);
      snapshot.options = options.map((text, index) => need("text", text, `${place}.options[${index}]`));
    }
    if (ask.value === undefined) return { snapshot, entry: null };
    const entry = {
      value: readValue(ask.value, `${place}.value`),
      n: need("count", ask.n, `${place}.n`),
      at: need("time", ask.at, `${place}.at`),
    };
    if (entry.n > mostChanges) throw new Refusal("bad-value", { place: `${place}.n`, kind: "count" });
    return { snapshot, entry };
  }

  function readStep(step, place, record, mostChanges) {
    need("object", step, place);
    const id = need("name", step.id, `${place}.id`);
    if (record.steps.has(id)) throw new Refusal("twice", { place: `${place}.id` });
    const texts = need("list", step.text, `${place}.text`);
    const asks = need("list", step.asks, `${place}.asks`);
    if (asks.length > MOST_ASKS) throw new Refusal("too-many", { place: `${place}.asks`, most: MOST_ASKS });
    const read = asks.map((ask, index) => readAsk(ask, `${place}.asks[${index}]`, mostChanges));
    record.steps.set(id, {
      id,
      like: step.like === "" ? "" : need("name", step.like, `${place}.like`),
      number: needOrNull("count", step.number, `${place}.number`),
      section: need("text", step.section, `${place}.section`),
      language: need("tag", step.language, `${place}.language`),
      text: texts.map((text, index) => need("text", text, `${place}.text[${index}]`)),
      asks: read.map(({ snapshot }) => snapshot),
    });
    for (const { snapshot, entry } of read) {
      const key = keyOf(id, snapshot.field);
      if (record.entries.has(key)) throw new Refusal("twice", { place: `${place}.asks` });
      if (entry) record.entries.set(key, entry);
    }
  }

  function parse(text) {
    try {
      return JSON.parse(text);
    } catch {
      throw new Refusal("not-json");
    }
  }

  /**
   * The record in a text, of storage or of a file, and the text's object.
   *
   * Throws a `Refusal` if it has another form or is of another sheet. No entry of a file may claim so many changes that
   * there is no room for more.
   */
  function read(text, sheet, mostChanges = Number.MAX_SAFE_INTEGER) {
    const data = parse(text);
    if (!IS.object(data) || data.format !== FORMAT) throw new Refusal("not-entries");
    if (data.version !== VERSION) {
      throw new Refusal("other-version", { version: String(data.version).slice(0, 20), own: VERSION });
    }
    for (const name of ["sheet", "title", "job"]) need("text", data[name], name);
    const machine = typeof data.machine === "string" ? data.machine : "";
    if (data.sheet !== sheet) {
      throw new Refusal("other-sheet", { title: data.title, machine, path: data.sheet });
    }
    const record = empty(data.job.trim());
    record.begun = needOrNull("time", data.begun, "begun");
    record.saved = needOrNull("time", data.saved, "saved");
    const steps = need("list", data.steps, "steps");
    if (steps.length > MOST_STEPS) throw new Refusal("too-many", { place: "steps", most: MOST_STEPS });
    steps.forEach((step, index) => readStep(step, `steps[${index}]`, record, mostChanges));
    for (const entry of record.entries.values()) record.n = Math.max(record.n, entry.n);
    return { record, data };
  }

  Live.record = {
    LONGEST, SHEET, Refusal,
    keyOf, stepOf, fieldOf, empty, enter, count, isSet, isNewer, isSame, merge, conflicts, toData, read,
  };
}
