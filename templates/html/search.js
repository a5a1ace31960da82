// Searches the site while the user types: titles, steps, parts and their numbers, and faults of
// machines. The index is a data file in the output. A script element loads it when the field first
// gets the focus, so that it also loads from a disk, and only when somebody searches.
// `src/render/search.rs` writes the index and documents its format. This script makes no other
// requests. All its words come with the page, in the page's language.
(() => {
  "use strict";

  const VERSION = 4;
  const DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-";
  /** The most results that are shown, in all and in each group if there are several. */
  const SHOWN = 30;
  const SHOWN_OF_EACH = 5;
  /** With fewer results than this, similar spellings are searched too, and results without some of the words. */
  const FEW = 5;
  /** The most links to the same thing on other machines in one result. */
  const MOST_OTHERS = 8;
  /** The length of the excerpt of a text, and of its part before the first match, in letters. */
  const LONGEST = 160;
  const BEFORE = 50;

  // The quality of a match between a typed word and a word of the index, in percent: two typing errors, one
  // typing error, a prefix, the same word in another form, the whole word.
  const [TWO_SLIPS, ONE_SLIP, BEGINS, SAME_STEM, WHOLE] = [16, 22, 75, 95, 100];
  /** What is left of the quality if the text has a synonym of the word. */
  const BY_SYNONYM = 0.9;
  /** A typed value is near others by this part of them: it may have been read from a machine that is out of limits. */
  const NEAR = 0.1;
  const [WITHIN_LIMITS, NEAR_LIMITS] = [90, 50];
  /** The least quality of a match that names a machine. */
  const NAMED = 85;
  /** A match counts less in a text than in a name, and less in a step. */
  const IN_NAME = 1;
  const IN_TEXT = 0.65;
  const IN_STEP = 0.5;
  /** In a rule of the check, which only authors look for: it comes after what is for the bench. */
  const IN_RULE = 0.1;
  /** In the title above a step, or in a machine's name. It narrows the search, but is no result by itself. */
  const AROUND = 0.05;

  // The kinds of thing, by their number in the index.
  const [MACHINE, PROCEDURE, FAULT, PART, READING, FLUID, TOOL, SUPPLY, CAUTION, TERM, RULE] = Array(11).keys();
  const STEP = 11;
  const WHERE = {
    [MACHINE]: (id) => `${id}/index.html`,
    [PROCEDURE]: (id, machine) => (machine ? `${machine}/${id}-shop-sheet.html` : `procedure/${id}.html`),
    [FAULT]: (id, machine) => `${machine}/${id}-fault-table.html`,
    [PART]: (id, machine, isDrawn) => `${machine}/${isDrawn ? "parts-list.html#drawn" : "parts.html#part"}-${id}`,
    [READING]: (id, machine) => `${machine}/parts.html#reading-${id}`,
    [FLUID]: (id, machine) => `${machine}/machine-data.html#fluids`,
    [TOOL]: (id) => `tools.html#tool-${id}`,
    [SUPPLY]: (id) => `supplies.html#supply-${id}`,
    [CAUTION]: (id) => `cautions.html#caution-${id}`,
    [TERM]: (id) => `glossary.html#term-${id}`,
    // The id has the rule's family: `rehearsal/part-left-off`.
    [RULE]: (id) => `rules/${id.replace("/", ".html#")}`,
  };
  /** The label of a thing in a group with things of other kinds. */
  const KINDS = {
    [READING]: () => say("reading"),
    [FLUID]: () => say("fluid"),
    [TOOL]: () => say("tool"),
    [SUPPLY]: () => say("supply"),
    [CAUTION]: () => say("caution"),
    [TERM]: () => say("term"),
  };
  const GROUPS = [
    { kinds: [MACHINE], title: () => say("machines") },
    { kinds: [PROCEDURE], title: () => say("procedures") },
    { kinds: [FAULT], title: () => say("faults") },
    { kinds: [PART, READING, FLUID], title: () => say("parts") },
    { kinds: [TOOL, SUPPLY, CAUTION, TERM], title: () => say("things") },
    { kinds: [STEP], title: () => say("steps") },
    { kinds: [RULE], title: () => say("rules") },
  ];

  const box = document.querySelector(".search");
  const field = box.querySelector("input");
  const panel = box.querySelector(".search-panel");
  const sum = box.querySelector(".search-sum");
  const list = box.querySelector("[role=listbox]");
  const status = box.querySelector("[role=status]");
  const words = SEARCH_WORDS;
  const say = (key, places = {}) =>
    words[key].replace(/\{([a-z]*)\}/g, (_, name) => String(places[name] ?? ""));

  // The index

  const VALUES = new Uint8Array(128);
  [...DIGITS].forEach((digit, value) => (VALUES[digit.charCodeAt(0)] = value));

  /** Decodes a row of numbers. */
  class Row {
    constructor(text, at = 0) {
      this.text = text;
      this.at = at;
    }
    isDone() {
      return this.at >= this.text.length;
    }
    next() {
      let number = 0;
      for (let shift = 0; ; shift += 5) {
        const value = VALUES[this.text.charCodeAt(this.at++)];
        number |= (value & 31) << shift;
        if (value < 32) return number;
      }
    }
  }

  /** The index from the data of its file; null if the version is another. */
  function read(data) {
    if (data?.version !== VERSION) return null;
    const lines = (text) => (text === "" ? [] : text.split("\n"));
    let known = 0;
    const textOf = (row) => (row.next() || ++known) - 1;
    const things = data.things.flatMap((written, kind) => {
      const row = new Row(written);
      return lines(data.ids[kind]).map((id) => {
        const name = textOf(row);
        const count = row.next();
        const shown = row.next();
        const texts = Array.from({ length: count }, () => textOf(row));
        let machine = 0;
        const machines = Array.from({ length: row.next() }, () => (machine += row.next()));
        return { kind, id, name, texts, shown, machines };
      });
    });
    const parts = things.filter(({ kind }) => kind === PART);
    const drawn = new Row(data.drawn);
    for (let part = 0; !drawn.isDone(); ) parts[(part += drawn.next())].isDrawn = true;
    // A shop has many steps, so their numbers are decoded only when they are shown.
    const steps = { text: [], of: [], at: [], row: data.steps };
    const row = new Row(data.steps);
    for (const procedure of things.filter(({ kind }) => kind === PROCEDURE)) {
      for (let count = row.next(); count > 0; count -= 1) {
        steps.text.push(textOf(row));
        steps.of.push(procedure);
        steps.at.push(row.at);
        for (let left = procedure.machines.length; left > 0; row.next()) left -= row.next();
      }
    }
    const values = lines(data.values).map((line) => {
      const [text, unit, lower, upper] = line.split(" ");
      const limit = (digits) => (digits === "" ? null : Number(digits));
      return { text: Number(text), unit, lower: limit(lower), upper: limit(upper) };
    });
    return {
      words: lines(data.words),
      found: data.found.split("\n"),
      alike: data.alike.split("\n"),
      ignored: new Set(lines(data.ignored)),
      endings: lines(data.endings),
      texts: lines(data.texts),
      values,
      things,
      machines: things.filter(({ kind }) => kind === MACHINE),
      steps,
    };
  }

  let index = null;
  let isAsked = false;
  let hasFailed = false;

  function load() {
    if (isAsked) return;
    isAsked = true;
    hasFailed = false;
    const script = document.createElement("script");
    const end = () => {
      index = read(globalThis.benchleafSearch);
      // If loading failed, it is tried again when the field next gets the focus.
      hasFailed = index === null;
      isAsked = !hasFailed;
      if (document.activeElement === field) show();
    };
    script.addEventListener("load", end);
    script.addEventListener("error", end);
    script.src = `${box.dataset.root}search-index.js`;
    document.head.append(script);
  }

  // Words

  /** Removes accents and converts to lower case, as for the words of the index: see `words.rs`. */
  const fold = (text) =>
    text
      .replace(/(?<=[\p{Alphabetic}\p{N}])['’·\u202f](?=[\p{Alphabetic}\p{N}])/gu, "")
      .replaceAll("×", "x")
      .normalize("NFKD")
      .replace(/\p{M}/gu, "")
      .toLowerCase();
  const WORD = "[\\p{Alphabetic}\\p{N}](?:[\\p{Alphabetic}\\p{N}]|(?<=\\p{N})[.,](?=\\p{N}))*";
  const wordsIn = (folded) => (folded.match(new RegExp(WORD, "gu")) ?? []).map((word) => word.replaceAll(",", "."));

  /** A word without its ending, as in `words.rs`: *leaking* and *leaks* have the same stem. */
  function stemOf(word) {
    if (hasDigit(word)) return word;
    const ending = index.endings.find((end) => word.endsWith(end) && word.length - end.length >= 3);
    const bare = ending ? word.slice(0, -ending.length) : word;
    return bare.length > 3 && bare.at(-1) === bare.at(-2) ? bare.slice(0, -1) : bare;
  }

  /** The index of the first sorted word, within a range, that is not less than a word. */
  function firstFrom(sorted, word, from, to) {
    while (from < to) {
      const middle = (from + to) >> 1;
      if (sorted[middle] < word) from = middle + 1;
      else to = middle;
    }
    return from;
  }

  const hasDigit = (word) => /\p{N}/u.test(word);

  /** The words of the index that match a typed word: the quality of each match by the word's position. */
  function answersTo(typed, isNear) {
    const all = index.words;
    const answers = new Map();
    for (let at = firstFrom(all, typed, 0, all.length); all[at]?.startsWith(typed); at += 1) {
      answers.set(at, all[at].length === typed.length ? WHOLE : BEGINS);
    }
    const stem = stemOf(typed);
    if (stem.length >= 3) {
      for (let at = firstFrom(all, stem, 0, all.length); all[at]?.startsWith(stem); at += 1) {
        if (!(answers.get(at) > SAME_STEM) && stemOf(all[at]) === stem) answers.set(at, SAME_STEM);
      }
    }
    // A typed part number that exists must not match similar part numbers.
    if (isNear && !(answers.size && hasDigit(typed))) {
      for (const [at, quality] of nearTo(typed)) if (!answers.has(at)) answers.set(at, quality);
    }
    return answers;
  }

  /**
   * The words of the index that are similar to a typed word, or begin with a similar one. Allows one
   * typing error (a letter inserted, deleted, replaced, or swapped with the next), or two from six
   * letters on.
   *
   * Walks through the sorted words as a tree with one letter at each level. Leaves a branch when none of
   * its words can be similar. A row has the edit distances between each prefix of the typed word and the
   * letters on the path to the current node.
   */
  function nearTo(typed) {
    const near = new Map();
    const count = typed.length;
    // No word of the index is longer, and a row can't hold distances above 255.
    if (count < 3 || count > 100) return near;
    const most = count <= 5 ? 1 : 2;
    // A short prefix would be similar to too many words.
    const mostOfBeginning = count < 4 ? 0 : count < 8 ? 1 : 2;
    const all = index.words;
    const take = (from, to, slips) => {
      const quality = slips > 1 ? TWO_SLIPS : ONE_SLIP;
      for (let at = from; at < to; at += 1) {
        if (!(near.get(at) >= quality)) near.set(at, quality);
      }
    };
    const walk = (from, to, depth, above, twoAbove) => {
      let at = from;
      if (all[at].length === depth) {
        if (above[count] <= most) take(at, at + 1, above[count]);
        at += 1;
      }
      while (at < to) {
        const begun = all[at].slice(0, depth + 1);
        const end = firstFrom(all, `${begun}\uffff`, at, to);
        const letter = begun[depth];
        const row = new Uint8Array(count + 1);
        row[0] = depth + 1;
        let least = row[0];
        for (let to = 1; to <= count; to += 1) {
          let slips = Math.min(above[to], row[to - 1]) + 1;
          slips = Math.min(slips, above[to - 1] + (typed[to - 1] === letter ? 0 : 1));
          if (to > 1 && depth > 0 && typed[to - 2] === letter && typed[to - 1] === begun[depth - 1]) {
            slips = Math.min(slips, twoAbove[to - 2] + 1);
          }
          row[to] = slips;
          if (slips < least) least = slips;
        }
        if (row[count] <= mostOfBeginning) take(at, end, row[count]);
        if (least <= most) walk(at, end, depth + 1, row, above);
        at = end;
      }
    };
    walk(0, all.length, 0, Uint8Array.from({ length: count + 1 }, (_, to) => to), null);
    return near;
  }

  // Matching

  /** Raises the quality of a typed word's match in each text, from the matches among the words of the index. */
  function addMatches(texts, answers) {
    const add = (row, quality) => {
      for (let text = 0; !row.isDone(); ) {
        text += row.next();
        if (texts[text] < quality) texts[text] = quality;
      }
    };
    for (const [at, quality] of answers) {
      add(new Row(index.found[at]), quality);
      add(new Row(index.alike[at]), quality * BY_SYNONYM);
    }
  }

  /** The lower quality of two matches in each text. */
  const both = (one, other) => one.map((quality, text) => Math.min(quality, other[text]));

  /** Raises the quality of matches to that of others. */
  function raise(texts, others) {
    for (let at = 0; at < others.length; at += 1) if (others[at] > texts[at]) texts[at] = others[at];
  }

  /** Whether a typed unit is a unit of the index, or begins it, or is its whole name. */
  const isUnit = (typed, unit) =>
    typed === unit || (Math.max(typed.length, unit.length) > 2 && (typed.startsWith(unit) || unit.startsWith(typed)));

  /** The texts with a value whose limits a typed value is within, or near. */
  function within(number, unit) {
    const texts = new Uint8Array(index.texts.length);
    for (const { text, unit: own, lower, upper } of index.values) {
      if (!isUnit(unit, own)) continue;
      const from = lower ?? upper;
      const to = upper ?? lower;
      if (lower !== null && upper !== null && lower <= number && number <= upper) texts[text] = WITHIN_LIMITS;
      else if (from * (1 - NEAR) <= number && number <= to * (1 + NEAR)) texts[text] = Math.max(texts[text], NEAR_LIMITS);
    }
    return texts;
  }

  const NUMBER = /^\d+(\.\d+)?$/;

  /** The matches of typed words: for each of them the quality of its match in each text. */
  function ask(typed, isNear, hits) {
    const known = new Map();
    /** The words of the index that match a word without typing errors. */
    const exactly = (word) => {
      if (!known.has(word)) known.set(word, answersTo(word, false));
      return known.get(word);
    };
    const isKnown = (word) => exactly(word).size > 0;
    const isWord = (word) => index.words[firstFrom(index.words, word, 0, index.words.length)] === word;
    const matchesOf = (answers) => {
      const texts = new Uint8Array(index.texts.length);
      for (const at of answers.keys()) hits.add(index.words[at]);
      addMatches(texts, answers);
      return texts;
    };
    const asked = typed.map((word) => {
      const texts = matchesOf(exactly(word));
      // The name of a machine is meant as it is typed.
      const isName = index.machines.some(({ name }) => texts[name] >= NAMED);
      if (isKnown(word) && (!isNear || isName)) return texts;
      return matchesOf(answersTo(word, true));
    });
    typed.forEach((word, at) => {
      // What is written as one word may be two: "floatbowl", "10mm".
      if (!isKnown(word)) {
        for (let cut = 1; cut < word.length; cut += 1) {
          const [one, other] = [word.slice(0, cut), word.slice(cut)];
          const isCut = hasDigit(one.at(-1)) !== hasDigit(other[0]) || (one.length > 2 && other.length > 2);
          if (!isCut || !isWord(one) || !isKnown(other)) continue;
          raise(asked[at], both(matchesOf(exactly(one)), matchesOf(exactly(other))));
        }
      }
      // What is written as several words may be one: "lock nut", "YAR 11 85".
      for (let end = at + 2; end <= Math.min(at + 4, typed.length); end += 1) {
        const joined = typed.slice(at, end).join("");
        if (!isKnown(joined)) continue;
        const texts = matchesOf(exactly(joined));
        for (let word = at; word < end; word += 1) raise(asked[word], texts);
      }
      // A value and its unit: "0.7 mm", "32 ft-lb", "8.5Nm".
      const [, digits, rest] = /^([\d.]+)(\D*)$/.exec(word) ?? [];
      if (!NUMBER.test(digits ?? "")) return;
      for (let end = rest ? at + 1 : at + 2; end <= Math.min(at + 3, typed.length); end += 1) {
        const unit = rest + typed.slice(at + 1, end).join("");
        const texts = within(Number(digits), unit);
        for (let word = at; word < end; word += 1) raise(asked[word], texts);
      }
    });
    return asked;
  }

  /** The best results for typed words: groups with their results, and the words to highlight. */
  function findAll(typed, { isNear = false, isPartial = false } = {}) {
    const hits = new Set();
    const asked = ask(typed, isNear, hits);
    // A word that few texts have says more than one that many have.
    const weights = asked.map((texts) => {
      let count = 1;
      for (let at = 0; at < texts.length; at += 1) if (texts[at]) count += 1;
      return Math.log(2 + texts.length / count);
    });
    const allWeight = weights.reduce((sum, weight) => sum + weight, 0);
    // Of three words or more, some may be missing: somebody describes a fault in a sentence.
    const mostMissing = isPartial ? Math.max(0, Math.floor((typed.length - 1) / 2)) : 0;
    // The machines whose name has each typed word.
    const named = asked.map((texts) => {
      const all = index.machines.map(({ name }) => texts[name]);
      return all.some(Boolean) ? all : null;
    });
    const names = named.map((all) => all?.some((quality) => quality >= NAMED));
    const groups = GROUPS.map(({ kinds, title }) => ({ kinds, title, count: 0, best: [] }));
    const groupOf = new Map(groups.flatMap((group) => group.kinds.map((kind) => [kind, group])));
    const things = new Map();

    /** Keeps a result if it is among the best of its group. With the same score, the shortest text comes first. */
    const keep = (result) => {
      const group = groupOf.get(result.kind);
      group.count += 1;
      const { best } = group;
      const isBefore = (other) =>
        result.score > other.score || (result.score === other.score && result.length < other.length);
      if (best.length === SHOWN && !isBefore(best.at(-1))) return;
      const place = best.findIndex(isBefore);
      best.splice(place < 0 ? best.length : place, 0, result);
      if (best.length > SHOWN) best.pop();
    };

    const rate = (what, kind, name, texts, title, machines) => {
      const weightOfName = kind === RULE ? IN_RULE : IN_NAME;
      const weightOfText = kind === RULE ? IN_RULE / 2 : kind === STEP ? IN_STEP : IN_TEXT;
      let score = 0;
      let missing = 0;
      let isOwn = false;
      for (let at = 0; at < asked.length; at += 1) {
        const answers = asked[at];
        let worth = name === null ? 0 : weightOfName * answers[name];
        for (const text of texts) worth = Math.max(worth, weightOfText * answers[text]);
        if (worth) {
          isOwn = true;
        } else {
          if (title !== null) worth = AROUND * answers[title];
          if (named[at]) {
            for (const machine of machines()) worth = Math.max(worth, AROUND * named[at][machine]);
          }
          // A word of a machine's name is never missing: a result on another machine would be the wrong one.
          if (!worth) missing += names[at] ? Infinity : 1;
          if (missing > mostMissing) return;
        }
        score += weights[at] * worth;
      }
      if (!isOwn) return;
      score *= (1 - missing / asked.length) / allWeight;
      const { length } = index.texts[name ?? texts[0]];
      if (kind === STEP) {
        keep({ what, kind, score, length, others: [] });
        return;
      }
      // The same thing on several machines is one result.
      const id = `${kind} ${what.id} ${name}`;
      const known = things.get(id);
      if (!known) {
        things.set(id, { what, kind, score, length, others: [] });
      } else if (score > known.score) {
        Object.assign(known, { what, score, others: [known.what, ...known.others] });
      } else {
        known.others.push(what);
      }
    };

    for (const thing of index.things) {
      rate(thing, thing.kind, thing.name, thing.texts, null, () => thing.machines);
    }
    for (const result of things.values()) keep(result);
    const { text, of } = index.steps;
    for (let step = 0; step < text.length; step += 1) {
      // A quick check first, because most steps do not match.
      if (asked.some((texts) => texts[text[step]])) {
        rate(step, STEP, null, [text[step]], of[step].name, () => placesOf(step).map(({ machine }) => machine));
      }
    }
    const sum = (counted) => counted.reduce((all, group) => all + group.count, 0);
    const ofBench = sum(groups.filter(({ kinds }) => !kinds.includes(RULE)));
    return { groups: groups.filter((group) => group.count), count: sum(groups), ofBench, hits, named, asked };
  }

  function search(text) {
    const all = wordsIn(fold(text));
    if (!all.length) return null;
    const telling = all.filter((word) => !index.ignored.has(word));
    const typed = telling.length ? telling : all;
    const found = findAll(typed);
    // Rules do not answer a question from the bench.
    if (found.ofBench >= FEW) return found;
    const partial = typed.length > 2 ? findAll(typed, { isPartial: true }) : found;
    return partial.ofBench > found.ofBench ? partial : findAll(typed, { isNear: true });
  }

  /** The machines that a step is done on, each with the step's number there. */
  function placesOf(step) {
    const row = new Row(index.steps.row, index.steps.at[step]);
    const { machines } = index.steps.of[step];
    const places = [];
    for (let at = 0; at < machines.length; ) {
      const until = at + row.next();
      const number = row.next();
      for (; at < until; at += 1) if (number) places.push({ machine: machines[at], number });
    }
    return places;
  }

  // Display

  function make(tag, given = {}, ...inside) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(given)) element.setAttribute(name, value);
    element.append(...inside);
    return element;
  }

  const SEEN = "[\\p{Alphabetic}\\p{N}\\p{M}](?:[\\p{Alphabetic}\\p{N}\\p{M}'’·]|(?<=\\p{N})[.,](?=\\p{N}))*";
  const SEEN_WORDS = new RegExp(`${SEEN}(?:-${SEEN})*`, "gu");

  /** The ranges of the matched words in a text. */
  function spansIn(text, hits) {
    const spans = [];
    const look = (words, start) => {
      if (hits.has(wordsIn(fold(words)).join(""))) {
        spans.push([start, start + words.length]);
        return true;
      }
      return false;
    };
    if (look(text, 0)) return spans;
    for (const group of text.matchAll(SEEN_WORDS)) {
      if (look(group[0], group.index)) continue;
      for (const one of group[0].matchAll(new RegExp(SEEN, "gu"))) look(one[0], group.index + one.index);
    }
    return spans;
  }

  /** The start of the excerpt of a long text. */
  function fullest(spans) {
    const within = spans.map(([start]) => {
      const last = start + LONGEST - BEFORE;
      return spans.filter((span) => span[0] >= start && span[1] <= last).length;
    });
    return spans[within.indexOf(Math.max(...within))]?.[0] ?? 0;
  }

  /** A text with its matches highlighted. A long text is cut to an excerpt around them. */
  function marked(text, hits) {
    const spans = spansIn(text, hits);
    let [from, to] = [0, text.length];
    if (to > LONGEST) {
      const first = fullest(spans);
      from = first > LONGEST - BEFORE ? text.indexOf(" ", first - BEFORE) + 1 : 0;
      const space = text.lastIndexOf(" ", from + LONGEST);
      to = text.length <= from + LONGEST ? text.length : space > first ? space : from + LONGEST;
    }
    const parts = from > 0 ? ["…\u00a0"] : [];
    for (const [start, end] of spans) {
      if (start < from || end > to) continue;
      parts.push(text.slice(from, start), make("mark", {}, text.slice(start, end)));
      from = end;
    }
    parts.push(text.slice(from, to));
    if (to < text.length) parts.push("\u00a0…");
    return parts;
  }

  /** Machine names, with those that match the search first. */
  function inOrder(machines, named) {
    const asked = (machine) => named.filter((all) => all?.[machine]).length;
    return [...machines].sort((one, other) => asked(other) - asked(one));
  }

  const nameOf = (machine) => index.texts[index.things[machine].name];

  function machineNames(machines) {
    const names = machines.slice(0, 3).map(nameOf).join(", ");
    return machines.length > 3 ? say("more-machines", { names, count: machines.length - 3 }) : names;
  }

  /** The address, the title and the further lines of a result. */
  function resultOf({ what, kind }, { hits, named, asked }) {
    if (kind === STEP) {
      const places = placesOf(what);
      const machines = inOrder(places.map(({ machine }) => machine), named);
      const { number } = places.find(({ machine }) => machine === machines[0]);
      const procedure = index.steps.of[what];
      const isSame = places.every((place) => place.number === number);
      const under = [marked(index.texts[procedure.name], hits)];
      if (isSame) under.push([say("step", { number })]);
      under.push([machineNames(machines)]);
      return {
        address: `${WHERE[PROCEDURE](procedure.id, index.things[machines[0]].id)}#step-${number}`,
        first: marked(index.texts[index.steps.text[what]], hits),
        under,
      };
    }
    const machines = inOrder(what.machines, named);
    const shown = what.texts.slice(0, what.shown);
    // A procedure of several machines has a page that leads to their sheets.
    const isOfOne = kind === PROCEDURE && named.some((all) => all?.[machines[0]]);
    return {
      address: isOfOne ? WHERE[kind](what.id, index.things[machines[0]].id) : addressOf(what),
      first: marked(index.texts[what.name], hits),
      under: [
        ...(KINDS[kind] ? [[KINDS[kind]()]] : []),
        ...shown.map((text) => marked(index.texts[text], hits)),
        ...(machines.length ? [[machineNames(machines)]] : []),
        ...reason(what, hits, asked),
      ],
    };
  }

  /** The address of a thing. One that only one machine has is on the machine's page. */
  const addressOf = ({ kind, id, machines, isDrawn }) =>
    WHERE[kind](id, machines.length === 1 ? index.things[machines[0]].id : null, isDrawn);

  /** The text that says why a thing is a result, if neither its name nor another text that is shown does. */
  function reason(what, hits, asked) {
    const seen = [what.name, ...what.texts.slice(0, what.shown)];
    const unseen = asked.filter((answers) => !seen.some((text) => answers[text]));
    let [most, best] = [0, null];
    for (const text of what.texts.slice(what.shown)) {
      const count = unseen.filter((answers) => answers[text]).length;
      if (count > most) [most, best] = [count, text];
    }
    return best === null ? [] : [marked(index.texts[best], hits)];
  }

  let options = [];
  let active = -1;

  function option(address, given, ...inside) {
    const link = make(
      "a",
      {
        role: "option",
        id: `search-option-${options.length}`,
        href: box.dataset.root + address,
        tabindex: "-1",
        "aria-selected": "false",
        ...given,
      },
      ...inside,
    );
    link.addEventListener("click", (event) => {
      // The link may go to an anchor on this page.
      if (!event.ctrlKey && !event.metaKey && !event.shiftKey) close();
    });
    options.push(link);
    return link;
  }

  /** The link of a result, and links to the same thing on other machines. */
  function linksOf(result, found) {
    const { address, first, under } = resultOf(result, found);
    const below = make("span", { class: "search-under" });
    for (const part of under) {
      if (below.childNodes.length) below.append(" · ");
      below.append(...part);
    }
    const link = option(address, {}, make("span", { class: "search-first" }, ...first), " ", below);
    if (!result.others.length) return [link];
    const others = result.others.slice(0, MOST_OTHERS).map((what) => {
      const machine = nameOf(what.machines[0]);
      const label = `${index.texts[what.name]}, ${machine}`;
      return option(addressOf(what), { class: "search-other", "aria-label": label }, machine);
    });
    return [link, make("span", { class: "search-others", role: "presentation" }, ...others)];
  }

  /** The number of results to show from each group: a few of each, then more from the best groups. */
  function shares(groups) {
    const few = groups.length > 1 ? SHOWN_OF_EACH : SHOWN;
    const counts = groups.map(({ best }) => Math.min(best.length, few));
    let left = SHOWN - counts.reduce((all, count) => all + count, 0);
    groups.forEach(({ best }, at) => {
      const more = Math.min(left, best.length - counts[at]);
      counts[at] += more;
      left -= more;
    });
    return counts;
  }

  let saying = 0;

  /** Shows a message, and announces it to screen readers when the user pauses typing. */
  function tell(text) {
    sum.textContent = text;
    clearTimeout(saying);
    saying = setTimeout(() => {
      status.textContent = text;
    }, 500);
  }

  function show() {
    options = [];
    setActive(-1);
    const text = field.value.trim();
    const isReady = text !== "" && index !== null;
    const found = isReady ? search(text) : null;
    list.replaceChildren();
    let shownCount = 0;
    if (found) {
      const groups = found.groups.sort((one, other) => other.best[0].score - one.best[0].score);
      const counts = shares(groups);
      shownCount = counts.reduce((all, count) => all + count, 0);
      groups.forEach((group, at) => {
        const id = `search-group-${at}`;
        const shown = counts[at];
        const title = group.title();
        const some = shown < group.count ? say("some", { title, shown, count: group.count }) : title;
        const head = make("div", { id, class: "search-group", role: "presentation" }, some);
        const all = group.best.slice(0, shown).flatMap((result) => linksOf(result, found));
        list.append(make("div", { role: "group", "aria-labelledby": id }, head, ...all));
      });
    }
    list.hidden = !options.length;
    panel.hidden = text === "";
    field.setAttribute("aria-expanded", String(options.length > 0));
    list.scrollTop = 0;
    if (text === "") {
      tell("");
    } else if (hasFailed) {
      tell(say("not-loaded"));
    } else if (!index) {
      tell(say("loading"));
    } else if (!options.length) {
      tell(say("none"));
    } else if (shownCount < found.count) {
      tell(say("found-some", { count: found.count, shown: shownCount }));
    } else {
      tell(say("found", { count: found.count }));
    }
  }

  function close() {
    panel.hidden = true;
    field.setAttribute("aria-expanded", "false");
    setActive(-1);
  }

  function setActive(at) {
    options[active]?.setAttribute("aria-selected", "false");
    active = at;
    const now = options[active];
    if (now) {
      now.setAttribute("aria-selected", "true");
      now.scrollIntoView({ block: "nearest" });
      field.setAttribute("aria-activedescendant", now.id);
    } else {
      field.removeAttribute("aria-activedescendant");
    }
  }

  // Keyboard

  /** Moves to the next or previous result. Beyond the ends, the focus returns to the field. */
  function move(by) {
    if (panel.hidden) show();
    if (!options.length) return;
    const places = options.length + 1;
    setActive(((active + 1 + by + places) % places) - 1);
  }

  const KEYS = {
    ArrowDown: () => move(1),
    ArrowUp: () => move(-1),
    Enter: () => (options[active] ?? options[0])?.click(),
    Escape() {
      if (field.value) {
        field.value = "";
        show();
      } else {
        close();
        field.blur();
      }
    },
  };

  field.addEventListener("keydown", (event) => {
    if (event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
    if (!Object.hasOwn(KEYS, event.key)) return;
    event.preventDefault();
    KEYS[event.key]();
  });
  field.addEventListener("input", show);
  field.addEventListener("focus", () => {
    load();
    if (field.value.trim()) show();
  });
  // Otherwise some browsers would move the focus before the result is opened.
  panel.addEventListener("mousedown", (event) => event.preventDefault());
  box.addEventListener("focusout", (event) => {
    if (!box.contains(event.relatedTarget)) close();
  });
  document.addEventListener("keydown", (event) => {
    // The shortcut needs a modifier key: speech input could trigger a single letter (WCAG 2.1.4).
    const withOne = event.ctrlKey !== event.metaKey && !event.altKey && !event.shiftKey;
    // On a keyboard for another script, the key at the same position counts.
    const isLatin = /^[a-z]$/i.test(event.key);
    if (!withOne || (isLatin ? event.key.toLowerCase() !== "k" : event.code !== "KeyK")) return;
    // Another text field may use the same shortcut.
    if (event.target.closest?.("input, textarea, select, [contenteditable]")) return;
    event.preventDefault();
    field.focus();
    field.select();
  });

  box.hidden = false;
})();
