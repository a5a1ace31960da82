// Searches the site as somebody types: titles, steps, parts and their numbers, what is wrong with a
// machine. The index is a file of plain data beside the pages, and is loaded by a script element when
// the field is first entered: so it loads from a disk, too, and costs nothing where nobody searches.
// `src/render/search.rs` writes it and says what stands in it. This script sends nothing anywhere,
// and says nothing of its own: its words come with the page, in the page's language.
(() => {
  "use strict";

  const VERSION = 1;
  const DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-";
  /** How many are shown at most, and of each group where there are several. */
  const SHOWN = 30;
  const SHOWN_OF_EACH = 5;
  /** With fewer than these, what is spelt nearly so is looked for, too. */
  const FEW = 5;
  /** How much of a text is shown, and how much of that before what was found, in letters. */
  const LONGEST = 160;
  const BEFORE = 50;

  // How well a word of the index answers to a typed one. What it is worth depends on where it stands:
  // no word, two slips, one slip, a beginning, the whole word.
  const [TWO_SLIPS, ONE_SLIP, BEGINS, WHOLE] = [1, 2, 3, 4];
  const WORTH = {
    name: [0, 16, 22, 75, 100],
    text: [0, 10, 14, 45, 65],
    step: [0, 7, 10, 32, 52],
    /** In the title above a step, or in a machine's name: it narrows down, and finds nothing by itself. */
    around: [0, 1, 2, 3, 4],
  };

  // The kinds of thing, as they are numbered in the index.
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
  /** Said of a thing that stands in a group with others. */
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

  /** A row of numbers that is written as text. */
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

  /** The index from its file's data; null where it is of another version. */
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
    // A shop has many steps: their numbers are read when they are shown.
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
      // What could not be loaded is asked for again when the field is next entered.
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

  /** Without accents, and small: as the index's words were folded. */
  const fold = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  const wordsIn = (folded) => folded.match(/[\p{Alphabetic}\p{N}]+/gu) ?? [];

  /** The first of some sorted words, from one on, that does not come before a word. */
  function firstFrom(sorted, word, from, to) {
    while (from < to) {
      const middle = (from + to) >> 1;
      if (sorted[middle] < word) from = middle + 1;
      else to = middle;
    }
    return from;
  }

  const hasDigit = (word) => /\p{N}/u.test(word);

  /** The index's words that answer to a typed one, by their places, each with how well it does. */
  function answersTo(typed, isNear) {
    const all = index.words;
    // A part number that is there is not meant for its neighbour.
    const isThere = all[firstFrom(all, typed, 0, all.length)]?.startsWith(typed);
    const answers = isNear && !(isThere && hasDigit(typed)) ? nearTo(typed) : new Map();
    for (let at = firstFrom(all, typed, 0, all.length); all[at]?.startsWith(typed); at += 1) {
      answers.set(at, all[at].length === typed.length ? WHOLE : BEGINS);
    }
    return answers;
  }

  /**
   * The index's words that a typed one is nearly, or nearly begins: with one slip (a letter too many,
   * too few, another one, or two that changed places), from six letters on with two.
   *
   * It goes through the sorted words as through a tree, a letter a level, and leaves a branch as soon
   * as no word on it can be near. A row says how far each beginning of the typed word is from the
   * letters down to here.
   */
  function nearTo(typed) {
    const near = new Map();
    const count = typed.length;
    // No word is so long; and a row holds no more than 255 slips.
    if (count < 3 || count > 100) return near;
    const most = count <= 5 ? 1 : 2;
    // A short beginning is near too much.
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

  // Finding

  /** How well each text answers to a word, from the answers among the index's words. */
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

  /** What answers to all the typed words: its groups with the best of each, and the words to mark. */
  function findAll(typed, isNear) {
    const hits = new Set();
    const asked = typed.map((word) => {
      const answers = answersTo(word, isNear);
      for (const at of answers.keys()) hits.add(index.words[at]);
      return inTexts(answers);
    });
    // A part number is typed with other gaps than it is written with.
    const joined = typed.join("");
    if (typed.length > 1 && hasDigit(joined)) {
      const answers = answersTo(joined, false);
      for (const at of answers.keys()) hits.add(index.words[at]);
      const whole = inTexts(answers);
      for (const texts of asked) texts.forEach((worth, at) => (texts[at] = Math.max(worth, whole[at])));
    }
    // The machines that each word names.
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
      // Of those that answer as well, what says least beside it.
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
      // Most steps have nothing of it: a quick look.
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

  /** The machines that a step is done on, each with its number there. */
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

  // Showing

  function make(tag, given = {}, ...inside) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(given)) element.setAttribute(name, value);
    element.append(...inside);
    return element;
  }

  const WORD = "[\\p{Alphabetic}\\p{N}\\p{M}]+";
  const WORDS = new RegExp(`${WORD}(?:-${WORD})*`, "gu");

  /** Where the words that were found stand in a text. */
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

  /** Where as much as can be shown at a time begins. */
  function fullest(spans) {
    const within = spans.map(([start]) => {
      const last = start + LONGEST - BEFORE;
      return spans.filter((span) => span[0] >= start && span[1] <= last).length;
    });
    return spans[within.indexOf(Math.max(...within))]?.[0] ?? 0;
  }

  /** A text with what was found marked; of a long one, what stands around it. */
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

  /** Machines, those that were typed first. */
  function inOrder(machines, named) {
    const asked = (machine) => named.filter((all) => all?.[machine]).length;
    return [...machines].sort((one, other) => asked(other) - asked(one));
  }

  const nameOf = (machine) => index.texts[index.things[machine].name];

  function machineNames(machines) {
    const names = machines.slice(0, 3).map(nameOf).join(", ");
    return machines.length > 3 ? say("more-machines", { names, count: machines.length - 3 }) : names;
  }

  /** Where a result leads, what it says first, and the lines below that. */
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
    // A procedure stands on one page for all its machines.
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

  /** Of all that is said of a thing, what has most of what was found; nothing where its name has as much. */
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
      // It may lead to a place on this page.
      if (!event.ctrlKey && !event.metaKey && !event.shiftKey) close();
    });
    options.push(link);
    return link;
  }

  /** How many of each group are shown: a few of each, and then more of the best. */
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

  /** Says something, and once the typing pauses says it aloud. */
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

  // Keys

  /** To the next result or the one before; beyond the ends stands the field itself. */
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
  // Some browsers would take the focus away before a result is opened.
  panel.addEventListener("mousedown", (event) => event.preventDefault());
  box.addEventListener("focusout", (event) => {
    if (!box.contains(event.relatedTarget)) close();
  });
  document.addEventListener("keydown", (event) => {
    // With a second key: a letter alone would be pressed by whoever speaks to the page (WCAG 2.1.4).
    const withOne = event.ctrlKey !== event.metaKey && !event.altKey && !event.shiftKey;
    // Where the key has a letter of another script on it, it is the one in its place.
    const isLatin = /^[a-z]$/i.test(event.key);
    if (!withOne || (isLatin ? event.key.toLowerCase() !== "k" : event.code !== "KeyK")) return;
    // A field may have a meaning of its own for it.
    if (event.target.closest?.("input, textarea, select, [contenteditable]")) return;
    event.preventDefault();
    field.focus();
    field.select();
  });

  box.hidden = false;
})();
