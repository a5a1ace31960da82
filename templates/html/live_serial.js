// The live checklist: whether the sheet is for the machine's serial number.
//
// Serial numbers are compared by their last digits, if what comes before them is the same. A number that was typed without
// letters is taken to have those of the sheet.

{
  const { say, job } = Live;
  const MESSAGE = "serial";

  /** What comes before the last digits of a serial number, and the number of these. Null if it does not end in digits. */
  function parse(text) {
    const found = /^(.*?)([0-9]{1,18})$/u.exec(text.trim());
    return found && { prefix: found[1].toUpperCase(), number: BigInt(found[2]) };
  }

  const spans = [...document.querySelectorAll(".entries [data-machine]")].map(({ dataset }) => ({
    machine: dataset.machine,
    from: parse(dataset.from ?? ""),
    to: parse(dataset.to ?? ""),
  }));

  function isIn({ prefix, number }, { from, to }) {
    const isLike = (end) => !end || prefix === "" || end.prefix === prefix;
    return isLike(from) && isLike(to) && (!from || from.number <= number) && (!to || number <= to.number);
  }

  /** What is wrong with a serial number on this sheet. Empty if nothing is. */
  function fault(text) {
    const serial = parse(text);
    const [own, ...others] = spans;
    if (!own || text.trim() === "" || (serial && isIn(serial, own))) return "";
    const other = serial && others.find((span) => isIn(serial, span));
    if (other) return say("serial-of", { serial: text.trim(), machine: other.machine });
    return say("serial-none", { serial: text.trim() });
  }

  Live.onChange(() => Live.warn(fault(String(job.value("sheet", "serial-number") ?? "")), MESSAGE));
}
