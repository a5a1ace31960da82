// The live checklist: typed readings, and how they compare with their limits.

{
  /** The number in a typed text, with a point or a comma; NaN if it is not a number. */
  function numberIn(text) {
    const plain = text.replace(/\s/g, "").replace(/^[\u2212\u2013]/, "-");
    const isNumber = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/.test(plain);
    return isNumber ? Number(plain.replace(",", ".")) : NaN;
  }

  /** The number as thousands, or null: 3,150 and 3.150 can mean about three thousand or about three. */
  function otherNumberIn(text) {
    const plain = text.replace(/\s/g, "");
    return /^[+-]?[1-9]\d{0,2}[.,]\d{3}$/.test(plain) ? Number(plain.replace(/[.,]/, "")) : null;
  }

  function compare(number, { least, most }) {
    if (Number.isNaN(number)) return "unread";
    if (most !== null && number > most) return "over";
    if (least !== null && number < least) return "under";
    return "within";
  }

  /** What a typed text is, compared with the bounds of a reading. Null if nothing is typed. */
  function verdictOf(text, bounds) {
    if (text.trim() === "") return null;
    // Without limits there is nothing to compare with.
    if (bounds.least === null && bounds.most === null) return "within";
    const number = numberIn(text);
    if (bounds.possible !== null && number < bounds.possible) return "impossible";
    const verdict = compare(number, bounds);
    const other = otherNumberIn(text);
    const isUnclear = other !== null && (!bounds.toThousandths || compare(other, bounds) !== verdict);
    return isUnclear ? "unclear" : verdict;
  }

  /** Whether a verdict is on a value: what is not a number, or could be two, is missing. */
  const isValue = (verdict) => ["within", "over", "under"].includes(verdict);
  const isOut = (verdict) => verdict === "over" || verdict === "under";

  Live.reading = { numberIn, otherNumberIn, verdictOf, isValue, isOut };
}
