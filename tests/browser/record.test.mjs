// The parts of the live checklist that need no page: records and how they are merged, digests, changed texts.

import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import vm from "node:vm";

/** `Live` with some of the scripts, in a context of its own. */
function load(...names) {
  const context = vm.createContext({ TextEncoder });
  const script = (name) => readFileSync(new URL(`../../templates/html/${name}.js`, import.meta.url), "utf8");
  return vm.runInContext(`const Live = {}; ${names.map(script).join("\n")}; Live`, context);
}

const Live = load("live_digest", "live_record", "live_reading");
const R = Live.record;

/** Numbers below `limit`, the same in every run. */
function random(seed) {
  let state = seed;
  return (limit) => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return Math.floor((state / 2147483648) * limit);
  };
}

test("the digest is SHA-256", () => {
  const next = random(1);
  for (const length of [0, 1, 54, 55, 56, 63, 64, 65, 119, 120, 1000, 70000]) {
    const text = Array.from({ length }, () => String.fromCodePoint(32 + next(900))).join("");
    assert.equal(Live.sha256(text), createHash("sha256").update(text).digest("hex"), `${length} characters`);
  }
});

test("canonical JSON is that of RFC 8785", () => {
  // RFC 8785, 3.2.3: the names are sorted by their UTF-16 code units.
  const names = {
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    1: "One",
    "\ud83d\ude00": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis",
  };
  const order = JSON.parse(Live.canonical(names).replace(/"[^"]*":/g, "").replace("{", "[").replace("}", "]"));
  assert.deepEqual(order, [
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
  ]);
  // RFC 8785, 3.2.4: the example of a whole object.
  const example = JSON.parse(
    String.raw`{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],"string":"\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}`,
  );
  assert.equal(
    Live.canonical(example),
    String.raw`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
  );
});

const snapshot = (id) => ({ id, like: "", number: 1, section: "", language: "en-GB", text: ["Do it."], asks: [] });

/** A record with some entries of a few keys, as one of several devices makes it from a common beginning. */
function someRecord(next, from = R.empty("7")) {
  const record = structured(from);
  for (let count = next(6); count > 0; count -= 1) {
    const step = `step-${next(3)}`;
    const value = [null, true, `text ${next(4)}`][next(3)];
    // The clocks of the devices are wrong by days, forwards and backwards.
    R.enter(record, R.keyOf(step, "tick"), value, () => snapshot(step), new Date(1.7e12 + (next(9) - 4) * 864e5));
  }
  return record;
}

const structured = ({ entries, steps, ...rest }) => ({ ...rest, entries: new Map(entries), steps: new Map(steps) });
const entriesOf = (record) => Object.fromEntries([...record.entries].sort());
const merged = (...records) => {
  const all = R.empty("7");
  for (const record of records) R.merge(all, record);
  return entriesOf(all);
};

test("records are merged to the same entries in every order, and merging again changes nothing", () => {
  for (let seed = 1; seed <= 300; seed += 1) {
    const next = random(seed);
    const start = someRecord(next);
    const [a, b, c] = [someRecord(next, start), someRecord(next, start), someRecord(next, start)];
    const all = merged(a, b, c);
    for (const order of [[a, c, b], [b, a, c], [b, c, a], [c, a, b], [c, b, a]]) {
      assert.deepEqual(merged(...order), all, `seed ${seed}`);
    }
    const twice = structured(a);
    R.merge(twice, b);
    assert.equal(R.merge(twice, b), false);
    assert.equal(R.merge(twice, a), false);
    for (const key of Object.keys(entriesOf(start))) assert.ok(key in all, "nothing is dropped");
  }
});

test("a later entry wins although the clock was set back", () => {
  const record = R.empty();
  R.enter(record, "a tick", "first", () => snapshot("a"), new Date("2026-03-02T09:00:00Z"));
  const other = structured(record);
  R.enter(other, "a tick", "second", () => snapshot("a"), new Date("2025-01-01T00:00:00Z"));
  R.merge(record, other);
  assert.equal(record.entries.get("a tick").value, "second");
  // An entry that was taken back stays so.
  R.enter(other, "a tick", null, () => snapshot("a"), new Date("2024-01-01T00:00:00Z"));
  R.merge(record, other);
  assert.equal(record.entries.get("a tick").value, null);
});

test("a record is the same after it was written and read", () => {
  for (let seed = 1; seed <= 100; seed += 1) {
    const record = someRecord(random(seed));
    const text = JSON.stringify(R.toData(record, { sheet: "m/p", title: "T" }, [snapshot("step-1"), snapshot("other")]));
    const { record: read } = R.read(text, "m/p");
    assert.deepEqual(entriesOf(read), entriesOf(record));
    assert.equal(read.job, record.job);
    assert.equal(read.n, Math.max(0, ...[...record.entries.values()].map((entry) => entry.n)));
  }
});

test("readings are compared with their limits", () => {
  const belt = { least: 10, most: 14, possible: 0, toThousandths: false };
  const speed = { least: 3000, most: 3200, possible: 0, toThousandths: false };
  const gap = { least: 0.7, most: 0.8, possible: 0, toThousandths: true };
  for (const [bounds, typed, expected] of [
    [belt, "14", "within"],
    [belt, "14,0", "within"],
    [belt, "14.01", "over"],
    [belt, "14,01", "over"],
    [belt, "10", "within"],
    [belt, "9.9", "under"],
    [belt, " 1 2 ", "within"],
    [belt, "-12", "impossible"],
    [belt, "\u221212", "impossible"],
    [belt, "12 mm", "unread"],
    [belt, "12.5.1", "unread"],
    [belt, "1e1", "unread"],
    [belt, "", null],
    [belt, "  ", null],
    [speed, "3150", "within"],
    [speed, "3 150", "within"],
    [speed, "3,150", "unclear"],
    [speed, "3.150", "unclear"],
    [speed, "2,500", "unclear"],
    [speed, "2.50", "under"],
    [gap, "0.750", "within"],
    [gap, "1.250", "over"],
    [{ least: null, most: 0.1, possible: 0, toThousandths: true }, "0", "within"],
    [{ least: 15, most: null, possible: null, toThousandths: false }, "15", "within"],
    [{ least: null, most: null, possible: null, toThousandths: false }, "blue", "within"],
  ]) {
    assert.equal(Live.reading.verdictOf(typed, bounds), expected, typed);
  }
});
