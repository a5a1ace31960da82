// The live checklist: export and import.
//
// A file is the record with everything that the sheet asks, so that it can be judged without the page, and a digest, so
// that a file that was changed is recognized. The digest is no signature: who can write a file can also write its digest.

{
  const { say, page, job, record: R } = Live;
  const LARGEST_FILE = 30_000_000;
  /** A file may claim this many changes of an entry. */
  const MOST_CHANGES = 1e9;

  const nameOfJob = (number) => (number ? say("job", { number }) : say("no-job"));

  /** Gives a text to the person as a file, and returns the file's name. */
  function handOut(text, number) {
    const part = (from) => from.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "").slice(0, 60);
    const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    const name = `${part(Live.sheet.sheet)}-${part(number) || part(say("draft"))}.json`;
    Live.make("a", { href: address, download: name }).click();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
    return name;
  }

  /** The open job as the object of a file. */
  async function fileData() {
    const all = [...page.steps, page.whole].map(page.snapshotOf);
    const photos = await Live.photos.forFile(job.record);
    const data = {
      ...R.toData(job.record, job.about(), all),
      ...(photos.length && { photos }),
      exported: new Date().toISOString(),
    };
    return { ...data, digest: Live.digest(data) };
  }

  /** Writes the file of the open job. Returns its name and digest. */
  async function exportJob() {
    const data = await fileData();
    const name = handOut(`${JSON.stringify(data, null, 2)}\n`, job.number);
    Live.tell(say("exported", { job: nameOfJob(job.number), count: R.count(job.record) }));
    return { name, digest: data.digest };
  }

  /** The record and the photos in a file. Throws a `Refusal` if anything in it is wrong. */
  function readFile(text) {
    const { record, data } = R.read(text, Live.sheet.sheet, MOST_CHANGES);
    let digest = null;
    try {
      digest = Live.digest(data);
    } catch {
      // The file is nested too deeply.
    }
    if (digest !== data.digest) throw new R.Refusal("bad-digest");
    const photos = Live.photos.fromFile(data);
    for (const [key, { value }] of record.entries) {
      if (value === null || !page.byId.has(R.stepOf(key))) continue;
      if (Live.photos.isField(R.fieldOf(key), value)) continue;
      const ask = page.asks.get(key);
      if (!ask?.takes(value)) {
        const step = page.byId.get(R.stepOf(key));
        const name = step.number === null ? (step.text[0] ?? "") : page.nameOf(step);
        throw new R.Refusal("no-place", { step: name, ask: ask?.label ?? R.fieldOf(key) });
      }
    }
    return { record, data, photos };
  }

  const EXPECTED = {
    object: () => say("an-object"),
    list: () => say("a-list"),
    text: () => say("a-text", { most: R.LONGEST }),
    name: () => say("a-name"),
    tag: () => say("a-language"),
    count: () => say("a-count"),
    time: () => say("a-time"),
    photo: () => say("a-photo"),
    value: () => say("a-value"),
  };

  /** Why a file was not imported. */
  const why = ({ key, places }) => {
    const expected = places.kind && EXPECTED[places.kind]();
    return say("not-imported", { why: say(key, { ...places, expected }) });
  };

  /** Joins a file with what is here. What was taken back on one side is taken from the other. */
  async function take(record, data, photos) {
    await Live.photos.keep(photos);
    job.open(record.job);
    for (const [key, entry] of record.entries) {
      const here = job.record.entries.get(key);
      if (R.isSet(here) && !R.isSet(entry)) record.entries.delete(key);
      else if (here && !R.isSet(here)) entry.n = Math.max(entry.n, here.n + 1);
    }
    job.add(record);
    Live.changes.settle(job.record);
    const changed = Live.changes.count();
    const texts = [say("imported", { job: nameOfJob(record.job), count: R.count(record) })];
    if (changed) texts.push(say("imported-changed", { count: changed, revision: data.revision }));
    Live.tell(texts.join(" "));
  }

  async function importFile(file) {
    if (file.size > LARGEST_FILE) {
      const megabytes = (bytes) => (bytes / 1e6).toLocaleString(document.documentElement.lang, { maximumFractionDigits: 1 });
      const places = { size: megabytes(file.size), most: megabytes(LARGEST_FILE) };
      Live.tell(why(new R.Refusal("too-large", places)));
      return;
    }
    let read;
    try {
      read = readFile(await file.text());
    } catch (error) {
      if (!(error instanceof R.Refusal)) throw error;
      Live.tell(why(error));
      return;
    }
    const { record, data, photos } = read;
    const here = job.stored(record.job);
    const differing = here ? R.conflicts(here, record) : [];
    if (!differing.length) {
      await take(record, data, photos);
      return;
    }
    const places = { job: nameOfJob(record.job), count: differing.length };
    const takeFile = () => {
      for (const key of differing) record.entries.get(key).n = here.n + 1;
      return take(record, data, photos);
    };
    const keepOwn = () => {
      for (const key of differing) record.entries.delete(key);
      return take(record, data, photos);
    };
    Live.tell(say("differs", places), {
      acts: [Live.button(say("take-file"), takeFile), Live.button(say("keep-own"), keepOwn)],
    });
  }

  Live.files = { handOut, exportJob, importFile, nameOfJob };
}
