// Makes a bench checklist editable on a screen. Without this script, the page is an empty sheet to
// print. The script turns each box into a control, saves the entries in the browser's storage, and
// exports and imports them as a file. It makes no requests. All its words come with the page, in the
// page's language.
//
// The format of the entries, in a file and in storage (version 1):
//
//   { "format": "benchleaf-checklist", "version": 1,
//     "path": "tarn-yarrow/float-bowl-bench-checklist", "mark": "dd7e3d77", "revision": 4,
//     "title": "...", "machine": "...",
//     "job": "2041",                       "" if there is no job number
//     "saved": "2026-03-02T09:12:44.120Z",
//     "entries": { "step-13-tick": { "value": true, "at": "2026-03-02T09:10:02.031Z" }, ... } }
//
// `path` and `mark` identify the sheet and its exact content. Entries are shown only on that sheet. An
// entry's id is the anchor of its step, stop or section, and the index of the blank there, from 0. Its
// value is true for a tick, the text of the chosen option for a choice, the text for a box to write in,
// and { "ms": 61000, "since": null } for a timer: the elapsed time, and when the timer was started.
(() => {
  "use strict";

  const FORMAT = "benchleaf-checklist";
  const VERSION = 1;
  /** The longest text of a box. A file with a longer text is not valid. */
  const LONGEST = 4000;
  const LARGEST_FILE = 2000000;

  const sheet = JSON.parse(document.getElementById("live").textContent);
  const say = (key, places = {}) =>
    sheet.words[key].replace(/\{([a-z]*)\}/g, (_, name) => String(places[name] ?? ""));

  /** Every control by its id: whether it accepts a value, and how it shows a value or none. */
  const controls = new Map();
  let entries = {};
  let job = "";

  // Elements

  function make(tag, given = {}, ...inside) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(given)) {
      if (typeof value === "function") {
        element.addEventListener(name, value);
      } else if (value !== null && value !== false) {
        element.setAttribute(name, value === true ? "" : value);
      }
    }
    element.append(...inside);
    return element;
  }

  let named = 0;
  const idOf = (element) => (element.id ||= `name-${(named += 1)}`);
  const nameBy = (control, ...elements) =>
    control.setAttribute("aria-labelledby", elements.filter(Boolean).map(idOf).join(" "));

  // Storage: the browser's, or memory if the browser refuses

  const memory = new Map();
  let refused = false;

  function attempt(act) {
    try {
      return act();
    } catch {
      if (!refused) {
        refused = true;
        warn(say("not-kept"));
      }
      return null;
    }
  }

  const store = {
    read(name) {
      return memory.get(name) ?? attempt(() => localStorage.getItem(name));
    },
    write(name, text) {
      const kept = attempt(() => {
        localStorage.setItem(name, text);
        return true;
      });
      if (kept) {
        memory.delete(name);
      } else {
        memory.set(name, text);
      }
    },
    remove(name) {
      memory.delete(name);
      attempt(() => localStorage.removeItem(name));
    },
    names() {
      const kept = attempt(() => Object.keys(localStorage)) ?? [];
      return [...new Set([...kept, ...memory.keys()])];
    },
  };

  const PREFIX = `${FORMAT} `;
  const nameOf = (number) => PREFIX + JSON.stringify([VERSION, sheet.path, sheet.mark, number]);
  /** The job that was open last. */
  const LAST = PREFIX + JSON.stringify([VERSION, sheet.path, sheet.mark]);

  function parsed(text) {
    try {
      return JSON.parse(text);
    } catch {
      return null;
    }
  }

  /** The stored entries of this sheet: with this mark, or with all other marks. */
  function kept(ofThisMark) {
    const found = [];
    for (const name of store.names().sort()) {
      const parts = name.startsWith(PREFIX) ? parsed(name.slice(PREFIX.length)) : null;
      if (!Array.isArray(parts) || parts.length !== 4) continue;
      const [version, path, mark, number] = parts;
      if (version === VERSION && path === sheet.path && (mark === sheet.mark) === ofThisMark) {
        found.push({ name, job: String(number) });
      }
    }
    return found;
  }

  const record = () => ({
    format: FORMAT,
    version: VERSION,
    path: sheet.path,
    mark: sheet.mark,
    revision: sheet.revision,
    title: sheet.title,
    machine: sheet.machine,
    job,
    saved: new Date().toISOString(),
    entries,
  });

  function save() {
    if (Object.keys(entries).length) {
      store.write(nameOf(job), JSON.stringify(record()));
    } else {
      store.remove(nameOf(job));
    }
    store.write(LAST, job);
  }

  function entriesOf(number) {
    const text = store.read(nameOf(number));
    const found = parsed(text)?.entries;
    if (!found) return {};
    const taken = sound(found);
    if (taken) return taken;
    // The mark is right but the entries are invalid. They are stored separately and offered as a file.
    store.write(PREFIX + JSON.stringify([VERSION, sheet.path, `${sheet.mark}*`, number]), text);
    const entry = ([id, one]) => sound({ [id]: one });
    return Object.assign({}, ...Object.entries(found).map(entry).filter(Boolean));
  }

  /** The entries, if this sheet has a control for each of them; otherwise null. */
  function sound(given) {
    if (typeof given !== "object" || given === null || Array.isArray(given)) return null;
    const taken = {};
    for (const [id, entry] of Object.entries(given)) {
      const control = controls.get(id);
      if (!control || typeof entry !== "object" || entry === null) return null;
      const { value, at } = entry;
      if (typeof at !== "string" || Number.isNaN(Date.parse(at))) return null;
      if (!control.takes(value)) return null;
      taken[id] = { value, at };
    }
    return taken;
  }

  /** Sets the value of an entry, or deletes the entry if the value is empty. */
  function enter(id, value) {
    if (value === null || value === false || value === "") {
      delete entries[id];
    } else {
      entries[id] = { value, at: new Date().toISOString() };
    }
    save();
    showProgress();
  }

  function showAll() {
    for (const [id, control] of controls) control.show(entries[id]?.value ?? null);
    jobInput.value = job;
    jobInput.dispatchEvent(new Event("shown"));
    offerJobs();
    showProgress();
  }

  // Controls

  const isText = (value) => typeof value === "string" && value !== "" && value.length <= LONGEST;

  /** A box to write in. The text is also in a second box, which is the one that is printed: there it wraps. */
  function field(id, slot, given = {}, tag = "input") {
    const { typed, ...attributes } = given;
    const input = make(tag, {
      id,
      class: slot.className,
      autocomplete: "off",
      maxlength: LONGEST,
      ...(tag === "input" ? { type: "text" } : { rows: 4 }),
      ...attributes,
    });
    const paper = make("span", { class: `${slot.className} paper`, "aria-hidden": "true" });
    const copy = () => {
      paper.textContent = input.value;
    };
    input.addEventListener("input", copy);
    input.addEventListener("shown", copy);
    if (typed !== false) {
      input.addEventListener("input", () => enter(id, input.value));
      controls.set(id, {
        takes: isText,
        show(value) {
          input.value = value ?? "";
          input.dispatchEvent(new Event("shown"));
        },
      });
    }
    return { input, whole: make("span", { class: "field" }, input, paper) };
  }

  /** Adds a control to a drawn box. The drawing stays visible. */
  function tickable(option, id, name, input) {
    const text = make("span", {}, ...[...option.childNodes].filter((node) => !isTick(node)));
    const box = make("span", { class: "tick", "aria-hidden": "true" });
    option.replaceWith(make("label", { class: "option" }, input, box, text));
    if (name) nameBy(input, name, text);
    return text.textContent.trim();
  }
  const isTick = (node) => node.nodeType === Node.ELEMENT_NODE && node.classList.contains("tick");

  function check(option, id, name) {
    const input = make("input", { type: "checkbox", id, class: "unseen" });
    tickable(option, id, name, input);
    input.addEventListener("change", () => enter(id, input.checked));
    // Enter does the same as the space bar, as on the boxes of steps.
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") input.click();
    });
    controls.set(id, {
      takes: (value) => value === true,
      show(value) {
        input.checked = value === true;
      },
    });
  }

  /** A choice of one option. A second tap or Delete clears the choice. */
  function choose(options, id, name) {
    const inputs = new Map();
    options.setAttribute("role", "radiogroup");
    if (name) nameBy(options, name);
    [...options.querySelectorAll(".option")].forEach((option, index) => {
      const input = make("input", { type: "radio", name: id, id: `${id}-${index}`, class: "unseen" });
      const text = tickable(option, input.id, null, input);
      let was = false;
      input.parentElement.addEventListener("pointerdown", () => {
        was = input.checked;
      });
      input.addEventListener("click", () => {
        if (was) input.checked = false;
        was = false;
        enter(id, input.checked ? text : null);
      });
      input.addEventListener("keydown", (event) => {
        if (event.key === "Enter") input.click();
        if (event.key === "Delete" || event.key === "Backspace") {
          input.checked = false;
          enter(id, null);
        }
      });
      inputs.set(text, input);
    });
    controls.set(id, {
      takes: (value) => inputs.has(value),
      show(value) {
        for (const [text, input] of inputs) input.checked = text === value;
      },
    });
  }

  function stepTick(line, number) {
    const id = `${line.id}-tick`;
    const button = make("button", {
      type: "button",
      id,
      class: "step-tick",
      "aria-pressed": "false",
      "aria-label": say("step-done", { number }),
    });
    const box = line.querySelector(".numbered > .tick");
    box.replaceWith(button);
    button.append(box);
    const show = (value) => {
      button.setAttribute("aria-pressed", String(value === true));
      line.classList.toggle("done", value === true);
    };
    button.addEventListener("click", () => {
      const done = button.getAttribute("aria-pressed") !== "true";
      show(done);
      enter(id, done);
    });
    controls.set(id, { takes: (value) => value === true, show });
  }

  // Timers

  const running = new Set();

  function clock(ms) {
    const seconds = Math.floor(ms / 1000);
    const two = (count) => String(count).padStart(2, "0");
    const [h, m, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
    return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
  }

  function timer(line, number) {
    const id = `${line.id}-timer`;
    const word = make("span", { class: "timer-word" });
    const time = make("span", { class: "timer-time" });
    const where = make("span", { class: "spoken" }, say("timer-at", { number }));
    const button = make("button", { type: "button", id }, word, " ", time, " ", where);
    let now = { ms: 0, since: null };
    const taken = () => now.ms + (now.since ? Math.max(0, Date.now() - Date.parse(now.since)) : 0);
    const tick = () => {
      time.textContent = clock(taken());
    };
    const show = (value) => {
      now = value ?? { ms: 0, since: null };
      const runs = now.since !== null;
      const isIdle = !runs && now.ms === 0;
      word.textContent = runs ? say("timer-stop") : isIdle ? say("timer-start") : say("timer-on");
      button.className = runs ? "timer runs" : isIdle ? "timer idle" : "timer";
      if (runs) {
        running.add(tick);
      } else {
        running.delete(tick);
      }
      tick();
    };
    button.addEventListener("click", () => {
      const next = now.since
        ? { ms: taken(), since: null }
        : { ms: now.ms, since: new Date().toISOString() };
      show(next);
      enter(id, next);
    });
    controls.set(id, {
      takes: (value) =>
        typeof value === "object" &&
        value !== null &&
        Number.isSafeInteger(value.ms) &&
        value.ms >= 0 &&
        (value.since === null ||
          (typeof value.since === "string" && !Number.isNaN(Date.parse(value.since)))),
      show,
    });
    return button;
  }
  setInterval(() => running.forEach((tick) => tick()), 500);

  // Readings

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

  function judge(number, least, most) {
    if (Number.isNaN(number)) return "unread";
    if (most !== null && number > most) return "over";
    if (least !== null && number < least) return "under";
    return "within";
  }

  const VERDICTS = {
    over: () => say("over"),
    under: () => say("under"),
    within: () => say("within"),
    impossible: () => say("impossible"),
    unread: () => say("unread"),
    unclear: (text) => say("unclear", { one: otherNumberIn(text), other: numberIn(text) }),
  };

  function reading(li, id) {
    const limit = (text) => (text === undefined ? null : Number(text));
    const [least, most] = [limit(li.dataset.least), limit(li.dataset.most)];
    const possible = limit(li.dataset.possible);
    const isToThousandths = li.dataset.toThousandths !== undefined;
    const label = li.querySelector(".label");
    const limits = li.querySelector(".limits");
    const remedies = { over: li.querySelector(".if-over"), under: li.querySelector(".if-under") };
    const verdicts = [];
    const verdictOf = (text) => {
      if (text.trim() === "" || (least === null && most === null)) return null;
      const number = numberIn(text);
      if (possible !== null && number < possible) return "impossible";
      const verdict = judge(number, least, most);
      const other = otherNumberIn(text);
      const isUnclear = other !== null && (!isToThousandths || judge(other, least, most) !== verdict);
      return isUnclear ? "unclear" : verdict;
    };
    /** The last judged box decides which remedy is highlighted: "as left" overrides "as found". */
    const highlight = () => {
      const last = verdicts.filter(Boolean).at(-1);
      for (const [verdict, remedy] of Object.entries(remedies)) {
        remedy?.classList.toggle("due", verdict === last);
      }
    };
    [...li.querySelectorAll(".box")].forEach((box, index) => {
      const slot = box.querySelector(".write");
      const boxId = `${id}-${index}`;
      const { input, whole } = field(boxId, slot, { inputmode: "decimal", enterkeyhint: "done" });
      const said = make("output", { class: "verdict", for: boxId, id: `${boxId}-verdict` });
      slot.replaceWith(whole);
      box.append(said);
      nameBy(input, label, box.querySelector(".box-label"));
      let wait = 0;
      const show = () => {
        clearTimeout(wait);
        const verdict = verdictOf(input.value);
        verdicts[index] = verdict;
        const text = verdict ? VERDICTS[verdict](input.value) : "";
        if (said.textContent !== text) said.textContent = text;
        said.className = verdict ? `verdict is-${verdict}` : "verdict";
        input.setAttribute("aria-invalid", String(["unread", "unclear", "impossible"].includes(verdict)));
        const about = [limits, said, remedies[verdict]].filter(Boolean);
        input.setAttribute("aria-describedby", about.map(idOf).join(" "));
        highlight();
      };
      // Not at every key press: a screen reader would announce a half-typed number as too low.
      input.addEventListener("input", () => {
        clearTimeout(wait);
        wait = setTimeout(show, 400);
      });
      input.addEventListener("change", show);
      input.addEventListener("shown", show);
      addEventListener("beforeprint", show);
    });
  }

  // The page

  function blank(li, id) {
    const label = li.querySelector(".label");
    const write = li.querySelector(".write");
    if (li.classList.contains("choice")) {
      choose(li.querySelector(".options"), id, label);
    } else if (li.classList.contains("reading")) {
      reading(li, id);
    } else if (li.classList.contains("state")) {
      check(li.querySelector(".option"), id, label);
    } else if (li.classList.contains("bag")) {
      const { input, whole } = field(`${id}-number`, write);
      write.replaceWith(whole);
      nameBy(input, label, li.querySelector(".box-label"));
      check(li.querySelector(".option"), id, label);
    } else if (write) {
      const { input, whole } = field(id, write);
      write.replaceWith(whole);
      nameBy(input, label);
    }
  }

  const lines = [...document.querySelectorAll(".line")];

  for (const line of lines) {
    const number = line.querySelector(".number").textContent.trim();
    stepTick(line, number);
    const initials = line.querySelector(".initials");
    const { whole } = field(`${line.id}-initials`, initials, {
      "aria-label": say("initials-at", { number }),
      autocapitalize: "characters",
    });
    // For screens that are too narrow for a column with a head.
    const label = make("span", { class: "side-label", "aria-hidden": "true" }, say("initials"));
    initials.replaceWith(make("div", { class: "side" }, timer(line, number), label, whole));
    line.querySelectorAll(".blanks > li").forEach((li, index) => blank(li, `${line.id}-${index}`));
    line.querySelectorAll(".hold").forEach((hold, index) => {
      const slot = hold.querySelector(".write");
      const { input, whole } = field(`${line.id}-hold-${index}`, slot);
      nameBy(input, slot.previousElementSibling);
      slot.replaceWith(whole);
    });
  }

  for (const stop of document.querySelectorAll(".stop-here")) {
    const title = stop.querySelector(".stop-title");
    const stopped = stop.querySelector(".option");
    if (stopped) check(stopped, `${stop.id}-stopped`, title);
    const slot = stop.querySelector(".write");
    if (slot) {
      const { input, whole } = field(`${stop.id}-signed`, slot);
      nameBy(input, title, stop.querySelector(".signs .label"));
      slot.replaceWith(whole);
    }
  }

  for (const table of document.querySelectorAll("table.sign-off")) {
    const heads = table.querySelectorAll("thead th");
    [...table.tBodies[0].rows].forEach((row, index) => {
      [...row.cells].forEach((cell, column) => {
        if (!cell.classList.contains("blank")) return;
        const slot = make("span", { class: "sign" });
        const { input, whole } = field(`sign-off-${index}-${column}`, slot);
        nameBy(input, row.cells[0], row.cells[1], heads[column]);
        cell.append(whole);
      });
    });
  }

  for (const room of document.querySelectorAll(".wrong-here")) {
    const { input, whole } = field("wrong-here-0", make("span", { class: "room" }), {}, "textarea");
    nameBy(input, room.querySelector(".label"));
    room.append(whole);
  }

  let jobInput = make("input");
  const jobs = make("datalist", { id: "kept-jobs" });
  document.querySelectorAll(".entries li").forEach((li, index) => {
    const isJob = li.dataset.entry === "job";
    const label = make("label", { for: `head-${index}` }, li.textContent.trim());
    const { input, whole } = field(`head-${index}`, make("span", { class: "entry" }), {
      typed: !isJob,
      list: isJob && "kept-jobs",
    });
    li.replaceChildren(label, whole);
    if (isJob) {
      jobInput = input;
      li.append(jobs);
    }
  });

  // Messages, and actions on all entries

  const said = make("div", { class: "said", role: "status" });
  const warned = make("div", { class: "said", role: "alert" });

  const button = (text, act) => make("button", { type: "button", click: act }, text);

  function tell(text, ...acts) {
    said.replaceChildren(make("p", {}, text), ...acts);
  }

  function warn(text) {
    warned.replaceChildren(make("p", {}, text));
  }

  /** A button for an action that can't be undone. The first tap asks, and a second tap confirms. */
  function twice(text, question, act) {
    let armed = 0;
    const it = button(text, () => {
      if (armed) {
        disarm();
        act();
      } else {
        it.textContent = question();
        it.classList.add("armed");
        armed = setTimeout(disarm, 6000);
      }
    });
    const disarm = () => {
      clearTimeout(armed);
      armed = 0;
      it.textContent = text;
      it.classList.remove("armed");
    };
    it.addEventListener("blur", disarm);
    return it;
  }

  const nameOfJob = (number) => (number ? say("job", { number }) : say("no-job"));

  function handOut(text, number) {
    const part = (from) => from.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "");
    const file = new Blob([text], { type: "application/json" });
    const address = URL.createObjectURL(file);
    const name = `${part(sheet.path)}-${part(number) || part(say("draft"))}.json`;
    const link = make("a", { href: address, download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
  }

  function handOutThis() {
    handOut(`${JSON.stringify(record(), null, 2)}\n`, job);
    tell(say("exported", { job: nameOfJob(job), count: Object.keys(entries).length }));
  }

  /** The entries of a file, or why they are rejected. */
  function readFile(text) {
    const found = parsed(text);
    if (typeof found !== "object" || found === null || found.format !== FORMAT) {
      return { why: say("not-entries") };
    }
    if (found.version !== VERSION) return { why: say("other-version") };
    if (found.path !== sheet.path) return { why: say("other-sheet", { path: found.path }) };
    if (found.mark !== sheet.mark) {
      return { why: say("other-mark", { mark: found.mark, own: sheet.mark }) };
    }
    const taken = sound(found.entries);
    const isJob = typeof found.job === "string" && found.job.length <= LONGEST;
    if (!taken || !isJob) return { why: say("spoilt") };
    return { job: found.job.trim(), taken };
  }

  async function takeIn(file) {
    if (file.size > LARGEST_FILE) {
      tell(say("not-entries"));
      return;
    }
    const { why, job: number, taken } = readFile(await file.text());
    if (why) {
      tell(why);
      return;
    }
    const take = () => {
      job = number;
      entries = taken;
      save();
      showAll();
      tell(say("imported", { job: nameOfJob(job), count: Object.keys(entries).length }));
    };
    if (Object.keys(entriesOf(number)).length) {
      tell(say("replaces", { job: nameOfJob(number) }), button(say("replace"), take));
    } else {
      take();
    }
  }

  const fileInput = make("input", {
    type: "file",
    class: "unseen",
    id: "import",
    accept: ".json,application/json",
    change: () => {
      const [file] = fileInput.files;
      if (file) takeIn(file);
      fileInput.value = "";
    },
  });

  const clear = twice(
    say("clear"),
    () => say("clear-sure", { count: Object.keys(entries).length }),
    () => {
      entries = {};
      save();
      showAll();
      tell(say("cleared", { job: nameOfJob(job) }));
    },
  );

  const done = make("span", { class: "count" });
  const next = make("a", { href: "#main", class: "next" });
  const progress = make("p", { class: "progress", "aria-live": "polite" }, done, " ", next);
  next.addEventListener("click", (event) => {
    const line = document.getElementById(next.hash.slice(1));
    const tick = line?.querySelector(".step-tick");
    if (!tick) return;
    event.preventDefault();
    line.scrollIntoView({ block: "start" });
    tick.focus({ preventScroll: true });
  });

  function showProgress() {
    const open = lines.filter((line) => !entries[`${line.id}-tick`]);
    const count = say("progress", { done: lines.length - open.length, all: lines.length });
    if (done.textContent !== count) done.textContent = count;
    const first = open[0];
    next.hidden = !first;
    if (first) {
      const text = say("next", { number: first.querySelector(".number").textContent.trim() });
      next.href = `#${first.id}`;
      if (next.textContent !== text) next.textContent = text;
    }
  }

  const keep = make(
    "section",
    { class: "keep", "aria-label": say("keep-title") },
    make("p", {}, say("keep")),
    make(
      "div",
      { class: "acts" },
      button(say("export"), handOutThis),
      make("label", { class: "button" }, fileInput, make("span", {}, say("import"))),
      clear,
    ),
    warned,
    said,
  );

  // Jobs

  function offerJobs() {
    const numbers = kept(true).map((one) => one.job);
    jobs.replaceChildren(
      ...numbers.filter(Boolean).map((number) => make("option", { value: number })),
    );
  }

  function openJob(number) {
    job = number;
    entries = entriesOf(number);
    store.write(LAST, job);
    showAll();
  }

  jobInput.addEventListener("change", () => {
    const [before, number] = [job, jobInput.value.trim()];
    const carried = entries;
    if (number === before) return;
    const isThere = Object.keys(entriesOf(number)).length > 0;
    const take = () => {
      store.remove(nameOf(before));
      job = number;
      entries = carried;
      save();
      showAll();
      tell(say("moved", { job: nameOfJob(number) }));
    };
    if (isThere || !Object.keys(carried).length) {
      openJob(number);
      if (isThere) tell(say("opened", { job: nameOfJob(number), before: nameOfJob(before) }));
    } else if (before === "") {
      take();
    } else {
      // This may be another job or a typing error, so the person must decide.
      openJob(number);
      const text = say("new-job", { job: nameOfJob(number), before: nameOfJob(before) });
      tell(text, button(say("take-along", { before: nameOfJob(before) }), take));
    }
  });

  /** Entries of a sheet with another mark. They can be exported, but not shown on this sheet. */
  function offerOthers() {
    for (const { name, job: number } of kept(false)) {
      const found = parsed(store.read(name)) ?? {};
      if (!found.entries) continue;
      const when = new Date(found.saved);
      const day = Number.isNaN(when.getTime())
        ? ""
        : when.toLocaleString(document.documentElement.lang, { dateStyle: "medium" });
      const notice = make("div", { class: "other" });
      notice.append(
        make(
          "p",
          {},
          say("changed", { job: nameOfJob(number), mark: found.mark, own: sheet.mark, day }),
        ),
        button(say("export-other"), () => handOut(JSON.stringify(found, null, 2), number)),
        twice(
          say("forget"),
          () => say("forget-sure"),
          () => {
            store.remove(name);
            notice.remove();
          },
        ),
      );
      keep.append(notice);
    }
  }

  // Shows entries that are made on the same sheet in another window.
  addEventListener("storage", (event) => {
    if (event.key === nameOf(job)) {
      entries = entriesOf(job);
      showAll();
    }
  });

  const head = document.querySelector(".head");
  head.after(keep);
  keep.after(progress);
  document.body.classList.add("live");
  openJob(store.read(LAST) ?? "");
  offerOthers();
})();
