// The live checklist: handing a job over. One button writes the file and prints the sheet as it is filled in.

{
  const { make, say, page, job, files, record: R } = Live;

  // It is printed, so that the paper and the file can be told to belong together.
  const note = make("p", { class: "handed" });
  const button = Live.button(say("hand-over"), handOver, { class: "hand-over" });
  const acts = make("div", { class: "acts hand-over-acts" }, button, make("span", {}, say("hand-over-does")));

  async function handOver() {
    const { name, digest } = await files.exportJob();
    const entries = [...job.record.entries.values()].filter(R.isSet).map(({ at }) => at);
    const places = {
      job: files.nameOfJob(job.number),
      count: entries.length,
      first: Live.sayTime(entries.reduce((one, other) => (one < other ? one : other), job.record.saved ?? "")),
      last: Live.sayTime(job.record.saved),
      time: Live.sayTime(new Date().toISOString()),
      file: name,
      digest,
    };
    Live.setText(note, say("handed-over", places));
    await Live.photos.shown();
    print();
  }

  const table = document.querySelector("table.sign-off")?.closest(".scroll");
  if (table) table.after(note, acts);
  else document.querySelector("main > .notices, main > .foot")?.before(note, acts);

  // What the note says is true only until the next entry.
  Live.onChange(() => Live.setText(note, ""));
}
