// Searches the site while the user types: titles, steps, parts and their numbers, and faults of
// machines. The index is a data file in the output. A script element loads it when the field first
// gets the focus, so that it also loads from a disk, and only when somebody searches.
// `src/render/search.rs` writes the index and documents its format. This script makes no other
// requests. All its words come with the page, in the page's language.
(() => {
  "use strict";

  const VERSION = 1;
  const DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-";
  /** The most results that are shown, in all and in each group if there are several. */
  const SHOWN = 30;
  const SHOWN_OF_EACH = 5;
  /** With fewer results than this, similar spellings are searched too. */
  const FEW = 5;
  /** The length of the excerpt of a text, and of its part before the first match, in letters. */
  const LONGEST = 160;
  const BEFORE = 50;

  // The quality of a match between a typed word and a word of the index: none, two typing errors, one
  // typing error, a prefix, the whole word. The score of a match depends on where the word is.
  const [TWO_SLIPS, ONE_SLIP, BEGINS, WHOLE] = [1, 2, 3, 4];
  const WORTH = {
    name: [0, 16, 22, 75, 100],
    text: [0, 10, 14, 45, 65],
    step: [0, 7, 10, 32, 52],
    /** In the title above a step, or in a machine's name. It narrows the search, but is no result by itself. */
    around: [0, 1, 2, 3, 4],
  };

  // The kinds of thing, by their number in the index.
  const [MACHINE, PROCEDURE, FAULT, PART, READING, TOOL, SUPPLY, CAUTION, TERM] = Array(9).keys();
  const STEP = 9;
  const WHERE = {
    [MACHINE]: (id) => `${id}/index.html`,
    [PROCEDURE]: (id) => `procedure/${id}.html`,
    [FAULT]: (id, machine) => `${machine}/${id}-fault-table.html`,
    [PART]: (id, machine) => `${machine}/index.html#part-${id}`,
    [READING]: (id, machine) => `${machine}/index.html#reading-${id}`,
    [TOOL]: (id) => `tools.html#tool-${id}`,
    [SUPPLY]: (id) => `supplies.html#supply-${id}`,
    [CAUTION]: (id) => `cautions.html#caution-${id}`,
    [TERM]: (id) => `glossary.html#term-${id}`,
  };
  /** The label of a thing in a group with things of other kinds. */
  const KINDS = {
    [READING]: () => say("reading"),
    [TOOL]: () => say("tool"),
    [SUPPLY]: () => say("supply"),
    [CAUTION]: () => say("caution"),
    [TERM]: () => say("term"),
  };
  const GROUPS = [
    { kinds: [MACHINE], title: () => say("machines") },
    { kinds: [PROCEDURE], title: () => say("procedures") },
    { kinds: [FAULT], title: () => say("faults") },
    { kinds: [PART, READING], title: () => say("parts") },
    { kinds: [TOOL, SUPPLY, CAUTION, TERM], title: () => say("things") },
    { kinds: [STEP], title: () => say("steps") },
  ];

  const box = document.querySelector(".search");
  const field = box.querySelector("input");
  const panel = box.querySelector(".search-panel");
  const sum = box.querySelector(".search-sum");
  const list = box.querySelector("[role=listbox]");
  const status = box.querySelector("[role=status]");
  const words = JSON.parse(document.getElementById("search-words").textContent);
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
        const texts = Array.from({ length: row.next() }, () => textOf(row));
        let machine = 0;
        const machines = Array.from({ length: row.next() }, () => (machine += row.next()));
        return { kind, id, name, texts, machines };
      });
    });
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
    const found = lines(data.found);
    return { words: lines(data.words), found, texts: lines(data.texts), things, steps };
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

  /** Removes accents and converts to lower case, as for the words of the index. */
  const fold = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  const wordsIn = (folded) => folded.match(/[\p{Alphabetic}\p{N}]+/gu) ?? [];

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
    // A typed part number that exists must not match similar part numbers.
    const isThere = all[firstFrom(all, typed, 0, all.length)]?.startsWith(typed);
    const answers = isNear && !(isThere && hasDigit(typed)) ? nearTo(typed) : new Map();
    for (let at = firstFrom(all, typed, 0, all.length); all[at]?.startsWith(typed); at += 1) {
      answers.set(at, all[at].length === typed.length ? WHOLE : BEGINS);
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
      const worth = slips > 1 ? TWO_SLIPS : ONE_SLIP;
      for (let at = from; at < to; at += 1) {
        if (!(near.get(at) >= worth)) near.set(at, worth);
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

  /** The best match in each text, from the matches among the words of the index. */
  function inTexts(answers) {
    const texts = new Uint8Array(index.texts.length);
    for (const [at, worth] of answers) {
      const row = new Row(index.found[at]);
      for (let text = 0; !row.isDone(); ) {
        text += row.next();
        if (texts[text] < worth) texts[text] = worth;
      }
    }
    return texts;
  }

  /** The results that match all typed words: groups with their best results, and the words to highlight. */
  function findAll(typed, isNear) {
    const hits = new Set();
    const asked = typed.map((word) => {
      const answers = answersTo(word, isNear);
      for (const at of answers.keys()) hits.add(index.words[at]);
      return inTexts(answers);
    });
    // The user may type a part number with other spaces or hyphens.
    const joined = typed.join("");
    if (typed.length > 1 && hasDigit(joined)) {
      const answers = answersTo(joined, false);
      for (const at of answers.keys()) hits.add(index.words[at]);
      const whole = inTexts(answers);
      for (const texts of asked) texts.forEach((worth, at) => (texts[at] = Math.max(worth, whole[at])));
    }
    // The machines whose name has each typed word.
    const named = asked.map((texts) => {
      const all = index.things.filter(({ kind }) => kind === MACHINE).map(({ name }) => texts[name]);
      return all.some(Boolean) ? all : null;
    });
    const groups = GROUPS.map(({ kinds, title }) => ({ kinds, title, count: 0, best: [] }));
    const groupOf = new Map(groups.flatMap((group) => group.kinds.map((kind) => [kind, group])));

    const rate = (what, kind, name, texts, title, machines) => {
      const worthOfText = kind === STEP ? WORTH.step : WORTH.text;
      let score = 0;
      let isOwn = false;
      for (let at = 0; at < asked.length; at += 1) {
        const answers = asked[at];
        let worth = name === null ? 0 : WORTH.name[answers[name]];
        for (const text of texts) worth = Math.max(worth, worthOfText[answers[text]]);
        if (worth) {
          isOwn = true;
        } else {
          if (title !== null) worth = WORTH.around[answers[title]];
          if (named[at]) {
            for (const machine of machines()) worth = Math.max(worth, WORTH.around[named[at][machine]]);
          }
          if (!worth) return;
        }
        score += worth;
      }
      if (!isOwn) return;
      const group = groupOf.get(kind);
      group.count += 1;
      // Among results with the same score, the shortest text comes first.
      const { length } = index.texts[name ?? texts[0]];
      const isBefore = (other) => score > other.score || (score === other.score && length < other.length);
      const last = group.best.at(-1);
      if (group.best.length === SHOWN && !isBefore(last)) return;
      const place = group.best.findIndex(isBefore);
      group.best.splice(place < 0 ? group.best.length : place, 0, { what, kind, score, length });
      if (group.best.length > SHOWN) group.best.pop();
    };

    for (const thing of index.things) {
      rate(thing, thing.kind, thing.name, thing.texts, null, () => thing.machines);
    }
    const { text, of } = index.steps;
    for (let step = 0; step < text.length; step += 1) {
      // A quick check first, because most steps do not match.
      if (asked.some((texts) => texts[text[step]])) {
        rate(step, STEP, null, [text[step]], of[step].name, () => placesOf(step).map(({ machine }) => machine));
      }
    }
    const count = groups.reduce((all, group) => all + group.count, 0);
    return { groups: groups.filter((group) => group.count), count, hits, named };
  }

  function search(text) {
    const typed = wordsIn(fold(text));
    if (!typed.length) return null;
    const found = findAll(typed, false);
    return found.count < FEW ? findAll(typed, true) : found;
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

  const WORD = "[\\p{Alphabetic}\\p{N}\\p{M}]+";
  const WORDS = new RegExp(`${WORD}(?:-${WORD})*`, "gu");

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
    for (const group of text.matchAll(WORDS)) {
      if (look(group[0], group.index)) continue;
      for (const one of group[0].matchAll(new RegExp(WORD, "gu"))) look(one[0], group.index + one.index);
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
  function resultOf({ what, kind }, { hits, named }) {
    if (kind === STEP) {
      const places = placesOf(what);
      const machines = inOrder(places.map(({ machine }) => machine), named);
      const { number } = places.find(({ machine }) => machine === machines[0]);
      const procedure = index.steps.of[what];
      const isSame = places.every((place) => place.number === number);
      const under = [marked(index.texts[procedure.name], hits)];
      if (isSame) under.push([say("step", { number })]);
      under.push([machineNames(machines)]);
      const anchor = `on.${index.things[machines[0]].id}.step-${number}`;
      return {
        address: `${WHERE[PROCEDURE](procedure.id)}#${anchor}`,
        first: marked(index.texts[index.steps.text[what]], hits),
        under,
      };
    }
    const machines = inOrder(what.machines, named);
    const machine = machines.length ? index.things[machines[0]].id : null;
    // A procedure has one page for all its machines.
    const isOfOne = kind === PROCEDURE && named.some((all) => all?.[machines[0]]);
    const texts = what.texts.map((text) => index.texts[text]);
    const isShort = kind === PROCEDURE || kind === PART;
    const on = machines.length ? [[machineNames(machines)]] : [];
    return {
      address: WHERE[kind](what.id, machine) + (isOfOne ? `#on.${machine}` : ""),
      first: marked(index.texts[what.name], hits),
      under: [
        ...(KINDS[kind] ? [[KINDS[kind]()]] : []),
        ...(isShort ? texts.map((text) => marked(text, hits)) : []),
        ...on,
        ...(isShort ? [] : told(what, texts, hits)),
      ],
    };
  }

  /** The text of a thing with the most matches. None if the thing's name has as many. */
  function told(what, texts, hits) {
    const kindsIn = (text) => new Set(spansIn(text, hits).map(([start, end]) => fold(text.slice(start, end)))).size;
    let most = kindsIn(index.texts[what.name]);
    let best = null;
    for (const text of texts) {
      const count = kindsIn(text);
      if (count > most) [most, best] = [count, text];
    }
    return best === null ? [] : [marked(best, hits)];
  }

  let options = [];
  let active = -1;

  function option(one, found) {
    const { address, first, under } = resultOf(one, found);
    const below = make("span", { class: "search-under" });
    for (const part of under) {
      if (below.childNodes.length) below.append(" · ");
      below.append(...part);
    }
    const link = make(
      "a",
      {
        role: "option",
        id: `search-option-${options.length}`,
        href: box.dataset.root + address,
        tabindex: "-1",
        "aria-selected": "false",
      },
      make("span", { class: "search-first" }, ...first),
      " ",
      below,
    );
    link.addEventListener("click", (event) => {
      // The link may go to an anchor on this page.
      if (!event.ctrlKey && !event.metaKey && !event.shiftKey) close();
    });
    options.push(link);
    return link;
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
    if (found) {
      const groups = found.groups.sort((one, other) => other.best[0].score - one.best[0].score);
      const counts = shares(groups);
      groups.forEach((group, at) => {
        const id = `search-group-${at}`;
        const shown = counts[at];
        const title = group.title();
        const some = shown < group.count ? say("some", { title, shown, count: group.count }) : title;
        const head = make("div", { id, class: "search-group", role: "presentation" }, some);
        const all = group.best.slice(0, shown).map((one) => option(one, found));
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
    } else if (options.length < found.count) {
      tell(say("found-some", { count: found.count, shown: options.length }));
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
