// The live checklist: turns the drawn boxes into controls.
//
// A drawing stays visible, so that the page looks the same on paper; the control lies over it or takes its place. Every
// control adds an ask to its step, and an item if it has to be filled in.

{
  const { make, say, nameBy, plain, page, job, reading } = Live;
  const { LONGEST } = Live.record;

  /** The id of a control on the page: `step-12-0`. */
  const idOf = (step, name) => `${step.name}-${name.replaceAll(".", "-")}`;

  const isText = (value) => typeof value === "string" && value !== "" && value.length <= LONGEST;
  const isTick = (value) => value === true;

  /** Enters a value, unless an unsigned hold stands before the step. Returns whether it did. */
  function enter(ask, value) {
    if (Live.holds.refuses(ask.step)) {
      ask.show(job.valueOf(ask));
      return false;
    }
    job.enter(ask, value);
    return true;
  }

  /** A box to write in. The text is also in a second box, which is the one that is printed: there it wraps. */
  function field(step, name, slot, { kind, label, about, noted, tag = "input", ...given }) {
    const input = make(tag, {
      id: idOf(step, name),
      class: slot.className,
      autocomplete: "off",
      maxlength: LONGEST,
      ...(tag === "input" ? { type: "text" } : { rows: 4 }),
      ...given,
    });
    const paper = make("span", { class: `${slot.className} paper`, "aria-hidden": "true" });
    const ask = page.addAsk(step, name, {
      kind,
      label,
      about,
      noted,
      takes: isText,
      show(value) {
        input.value = value ?? "";
        paper.textContent = input.value;
        input.dispatchEvent(new Event("shown"));
      },
    });
    input.addEventListener("input", () => {
      if (enter(ask, input.value)) paper.textContent = input.value;
    });
    return { ask, input, whole: make("span", { class: "field" }, input, paper) };
  }

  /** A box to sign in. It has to be signed. */
  function signature(step, name, slot, { label, names }) {
    const { ask, input, whole } = field(step, name, slot, { kind: "signature", label, autocapitalize: "words" });
    nameBy(input, ...names);
    slot.replaceWith(whole);
    page.addItem(step, "signature", () => job.valueOf(ask) === null);
    return ask;
  }

  const isDrawnTick = (node) => node.nodeType === Node.ELEMENT_NODE && node.classList.contains("tick");

  /** Lays a control over a drawn box. Returns the text beside the box. */
  function layOver(option, input, name) {
    const text = make("span", {}, ...[...option.childNodes].filter((node) => !isDrawnTick(node)));
    const box = make("span", { class: "tick", "aria-hidden": "true" });
    option.replaceWith(make("label", { class: "option" }, input, box, text));
    if (name) nameBy(input, name, text);
    return plain(text);
  }

  const onEnterKey = (input) =>
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") input.click();
    });

  /** A box to tick beside a text, such as that work was stopped here. */
  function check(step, name, option, label) {
    const input = make("input", { type: "checkbox", id: idOf(step, name), class: "unseen" });
    const text = layOver(option, input, label);
    const ask = page.addAsk(step, name, {
      kind: "tick",
      label: [label && plain(label), text].filter(Boolean).join(": "),
      takes: isTick,
      show(value) {
        input.checked = value === true;
      },
    });
    input.addEventListener("change", () => enter(ask, input.checked));
    onEnterKey(input);
    return ask;
  }

  /** A choice of one option. A second tap or Delete clears the choice. */
  function choice(step, name, li, label = li.querySelector(".label"), out = undefined) {
    const options = li.querySelector(".options");
    const inputs = [];
    const texts = [];
    const kind = li.dataset.noted === undefined ? "choice" : "position";
    options.setAttribute("role", "radiogroup");
    nameBy(options, label);
    const ask = page.addAsk(step, name, {
      kind,
      label: plain(label),
      about: () => ({ options: texts }),
      noted: li.dataset.noted,
      takes: (value) => Number.isInteger(value?.option) && value.option < inputs.length,
      show(value) {
        inputs.forEach((input, index) => {
          input.checked = value?.option === index;
        });
      },
    });
    [...options.querySelectorAll(".option")].forEach((option, index) => {
      const id = idOf(step, name);
      const input = make("input", { type: "radio", name: id, id: `${id}-${index}`, class: "unseen" });
      inputs.push(input);
      texts.push(layOver(option, input, null));
      const choose = (isChosen) => {
        input.checked = isChosen;
        enter(ask, isChosen ? { option: index, text: texts[index] } : null);
      };
      let was = false;
      input.parentElement.addEventListener("pointerdown", () => {
        was = input.checked;
      });
      input.addEventListener("click", () => {
        choose(!was);
        was = false;
      });
      onEnterKey(input);
      input.addEventListener("keydown", (event) => {
        if (event.key === "Delete" || event.key === "Backspace") choose(false);
      });
    });
    page.addItem(step, kind, () => job.valueOf(ask) === null, out);
    if (li.dataset.decides !== undefined) {
      Live.outcomes.add(step, li.dataset.decides, () => ["reuse", "renew"][job.valueOf(ask)?.option] ?? null);
    }
    return ask;
  }

  // Readings

  const VERDICTS = {
    over: () => say("over"),
    under: () => say("under"),
    within: () => say("within"),
    impossible: () => say("impossible"),
    unread: () => say("unread"),
    unclear: (text) => say("unclear", { one: reading.otherNumberIn(text), other: reading.numberIn(text) }),
  };

  /** The same for a dimension that wears: within its limit, the part is used again. */
  const VERDICTS_ON_WEAR = { ...VERDICTS, over: () => say("worn"), under: () => say("worn"), within: () => say("reuse") };

  /** One box of a reading, with its verdict beside it. */
  function readingBox(step, name, box, { bounds, about, label, verdicts, judged }) {
    const slot = box.querySelector(".write");
    const boxLabel = box.querySelector(".box-label");
    const verdict = make("output", { class: "verdict", id: `${idOf(step, name)}-verdict` });
    const { ask, input, whole } = field(step, name, slot, {
      kind: "reading",
      label: [label, boxLabel].filter(Boolean).map(plain).join(", "),
      about: () => ({ ...about, verdict: reading.verdictOf(job.valueOf(ask) ?? "", bounds) ?? "" }),
      inputmode: "decimal",
      enterkeyhint: "done",
    });
    verdict.htmlFor = input.id;
    slot.replaceWith(whole);
    box.append(verdict);
    nameBy(input, label, boxLabel);
    let wait = 0;
    const show = () => {
      clearTimeout(wait);
      const found = reading.verdictOf(input.value, bounds);
      const isCompared = bounds.least !== null || bounds.most !== null;
      Live.setText(verdict, found && isCompared ? verdicts[found](input.value) : "");
      verdict.className = found ? `verdict is-${found}` : "verdict";
      input.setAttribute("aria-invalid", String(["unread", "unclear", "impossible"].includes(found)));
      judged();
    };
    // Not at every key press: a screen reader would announce a half-typed number as too low.
    input.addEventListener("input", () => {
      clearTimeout(wait);
      wait = setTimeout(show, 400);
    });
    input.addEventListener("change", show);
    input.addEventListener("shown", show);
    addEventListener("beforeprint", show);
    return { ask, input, verdict, text: () => job.valueOf(ask) ?? "" };
  }

  /**
   * A reading, or the row of a dimension: its boxes, and a panel that says what to do if the last value is out of limits.
   * For a dimension the value also decides whether the part is used again or renewed, and ticks the box of that.
   */
  function readingOf(step, name, li) {
    const { least, most, possible, toThousandths, of = null } = li.dataset;
    const limit = (text) => (text === undefined ? null : Number(text));
    const bounds = {
      least: limit(least),
      most: limit(most),
      possible: limit(possible),
      toThousandths: toThousandths !== undefined,
    };
    const [label, limits] = [li.querySelector(".label"), li.querySelector(".limits")];
    const unit = li.querySelector(".unit");
    const decision = li.querySelector(".decision");
    const verdicts = decision ? VERDICTS_ON_WEAR : VERDICTS;
    const beyond = li.querySelector(".beyond");
    const remedies = decision
      ? { over: beyond, under: beyond }
      : { over: li.querySelector(".if-over"), under: li.querySelector(".if-under") };
    const word = make("strong", { class: "out-word" });
    const what = make("span");
    const panel = make("p", { class: "out" }, word, " ", what);
    const boxes = [];
    const verdictOf = (box) => reading.verdictOf(box.text(), bounds);
    /** The last value decides: as left comes after as found. */
    const last = () => boxes.filter((box) => reading.isValue(verdictOf(box))).at(-1);
    const judged = () => {
      const box = last();
      const verdict = box && verdictOf(box);
      panel.hidden = !reading.isOut(verdict);
      for (const remedy of new Set(Object.values(remedies))) remedy?.classList.toggle("due", remedies[verdict] === remedy);
      const [reuse, renew] = decision?.querySelectorAll(".tick") ?? [];
      reuse?.classList.toggle("ticked", verdict === "within");
      renew?.classList.toggle("ticked", !panel.hidden);
      Live.setText(word, panel.hidden ? "" : verdicts[verdict]());
      Live.setText(what, panel.hidden ? "" : remedyOf(verdict));
    };
    /** What to do, without the word that says when. */
    const remedyOf = (verdict) => {
      const remedy = remedies[verdict]?.cloneNode(true);
      remedy?.querySelector("b")?.remove();
      return remedy ? plain(remedy) : "";
    };
    const about = { limits: plain(limits), ...(unit && { unit: plain(unit) }), ...(least && { least }), ...(most && { most }) };
    const parts = { bounds, about, label, verdicts, judged };
    [...li.querySelectorAll(".box")].forEach((box, index) => {
      boxes.push(readingBox(step, `${name}.${index}`, box, parts));
    });
    for (const { input, verdict } of boxes) {
      input.setAttribute("aria-describedby", [limits, verdict, panel].filter(Boolean).map(Live.idOf).join(" "));
    }
    (decision ?? li).append(panel);
    const isMissing = () => {
      const [first, second] = boxes;
      const found = verdictOf(first);
      if (!reading.isValue(found)) return true;
      // As left has to be measured only if the value was out of limits as found.
      return second !== undefined && reading.isOut(found) && !reading.isValue(verdictOf(second));
    };
    const out = () => {
      const box = last();
      const isOut = box && reading.isOut(verdictOf(box));
      const word = isOut && verdicts[verdictOf(box)]();
      const value = isOut && `${box.text()} ${about.unit ?? ""}`.trim();
      return { of, isValued: Boolean(box), out: isOut ? { name: plain(label), value, word, limits: about.limits } : null };
    };
    page.addItem(step, "reading", isMissing, out);
    if (of === null) return;
    /** What was found first: what is measured as left comes after the steps that depend on it. */
    const found = () => {
      const verdict = verdictOf(boxes[0]);
      return reading.isValue(verdict) ? verdict : null;
    };
    Live.outcomes.add(step, of, found);
    const [part, dimension] = of.split("/");
    if (dimension === undefined) return;
    Live.outcomes.add(step, part, () => found() && (reading.isOut(found()) ? "renew" : "reuse"));
  }

  /** What a chosen option of a level says: below, between and above its marks, in this order. */
  const LEVELS = ["under", "within", "over"];

  /** A level: a choice, and a panel that says what to do if it is not between its marks. */
  function levelOf(step, name, li) {
    const label = li.querySelector(".label");
    const remedies = { over: li.querySelector(".if-over"), under: li.querySelector(".if-under") };
    const panel = make("p", { class: "out", hidden: "" });
    let ask = null;
    const verdict = () => LEVELS[job.valueOf(ask)?.option];
    const between = () => plain(li.querySelectorAll(".option")[LEVELS.indexOf("within")]);
    const out = () => {
      const found = verdict();
      const isOut = reading.isOut(found);
      const value = job.valueOf(ask)?.text;
      return {
        of: li.dataset.of,
        isValued: found !== undefined,
        out: isOut ? { name: plain(label), value, word: VERDICTS[found](), limits: between() } : null,
      };
    };
    ask = choice(step, name, li, label, out);
    if (li.dataset.of !== undefined) Live.outcomes.add(step, li.dataset.of, () => verdict() ?? null);
    const show = () => {
      const found = verdict();
      panel.hidden = !reading.isOut(found);
      for (const [side, remedy] of Object.entries(remedies)) remedy?.classList.toggle("due", side === found);
      const remedy = remedies[found]?.cloneNode(true);
      remedy?.querySelector("b")?.remove();
      Live.setText(panel, panel.hidden ? "" : [job.valueOf(ask).text, remedy && plain(remedy)].filter(Boolean).join(": "));
    };
    li.append(panel);
    li.querySelector(".options").setAttribute("aria-describedby", Live.idOf(panel));
    // They bubble up when the option has entered its value.
    li.addEventListener("click", show);
    li.addEventListener("keydown", show);
    const { show: showValue } = ask;
    ask.show = (value) => {
      showValue(value);
      show();
    };
  }

  // What a step asks

  function blank(step, li, name) {
    const [label, write] = [li.querySelector(".label"), li.querySelector(".write")];
    if (li.classList.contains("wait")) {
      Live.wait.add(step, name, li);
    } else if (li.classList.contains("choice")) {
      choice(step, name, li);
    } else if (li.classList.contains("level")) {
      levelOf(step, name, li);
    } else if (li.classList.contains("reading")) {
      readingOf(step, name, li);
    } else if (li.classList.contains("state")) {
      const ask = check(step, name, li.querySelector(".option"), label);
      page.addItem(step, "tick", () => job.valueOf(ask) === null);
    } else if (li.classList.contains("bag")) {
      const boxLabel = li.querySelector(".box-label");
      const { input, whole } = field(step, `${name}.bag`, write, {
        kind: "bag",
        label: [label, boxLabel].filter(Boolean).map(plain).join(", "),
      });
      write.replaceWith(whole);
      nameBy(input, label, boxLabel);
      const option = li.querySelector(".option");
      if (option) check(step, `${name}.count`, option, label);
    } else if (write) {
      const { ask, input, whole } = field(step, name, write, {
        kind: "note",
        label: plain(label),
        noted: li.dataset.noted,
      });
      write.replaceWith(whole);
      nameBy(input, label);
      page.addItem(step, "note", () => job.valueOf(ask) === null);
    }
  }

  /** The box of a step becomes a button. */
  function stepTick(step, box) {
    const { element: line, number } = step;
    const button = Live.button("", () => {}, {
      id: idOf(step, "tick"),
      class: "step-tick",
      "aria-pressed": "false",
      "aria-label": say("step-done", { number }),
    });
    box.replaceWith(button);
    button.append(box);
    const ask = page.addAsk(step, "tick", {
      kind: "tick",
      label: say("done"),
      takes: isTick,
      show(value) {
        button.setAttribute("aria-pressed", String(value === true));
      },
    });
    step.toggle = (value = job.valueOf(ask) === null) => {
      if (enter(ask, value)) ask.show(job.valueOf(ask));
    };
    step.isUnticked = () => job.valueOf(ask) === null;
    button.addEventListener("click", () => step.toggle());
    page.addItem(step, "tick", () => job.valueOf(ask) === null);
  }

  function initials(step, slot) {
    const { ask, input, whole } = field(step, "initials", slot, {
      kind: "signature",
      label: say("initials"),
      autocapitalize: "characters",
      "aria-label": say("initials-at", { number: step.number }),
    });
    // For screens that are too narrow for a column with a head.
    const label = make("span", { class: "side-label", "aria-hidden": "true" }, say("initials"));
    slot.replaceWith(make("div", { class: "side" }, label, whole));
    page.addItem(step, "signature", () => job.valueOf(ask) === null);
  }

  const makers = {
    step(step) {
      const { element: line } = step;
      const box = line.querySelector(".numbered > .tick");
      if (box) stepTick(step, box);
      line.querySelectorAll(".blanks > li").forEach((li, index) => blank(step, li, String(index)));
      line.querySelectorAll(".wear tbody tr").forEach((row, index) => readingOf(step, `wear.${index}`, row));
      line.querySelectorAll(".hold").forEach((hold, index) => {
        const role = hold.querySelector("b");
        const ask = signature(step, `hold.${index}`, hold.querySelector(".write"), { label: plain(role), names: [role] });
        Live.holds.add(step, ask);
      });
      const slot = line.querySelector(".initials");
      if (slot) initials(step, slot);
    },
    group(step) {
      const { element: stop } = step;
      const title = stop.querySelector(".stop-title");
      const stopped = stop.querySelector(".option");
      if (stopped) {
        check(step, "stopped", stopped, title);
        const box = stop.querySelector("input");
        box.addEventListener("change", () => box.checked && Live.clock.pause());
      }
      const slot = stop.querySelector(".write");
      const role = stop.querySelector(".signs .label");
      if (slot) signature(step, "signed", slot, { label: plain(role), names: [title, role] });
    },
    row(step) {
      const { element: row } = step;
      const heads = row.closest("table").querySelectorAll("thead th");
      [...row.cells].forEach((cell, index) => {
        const head = heads[cell.cellIndex];
        if (cell.querySelector(".options")) {
          choice(step, String(index), cell, row.cells[0]);
        } else if (cell.querySelector(".tick")) {
          const option = make("span", { class: "option" }, ...cell.childNodes);
          cell.replaceChildren(option);
          const ask = check(step, String(index), option, row.cells[0]);
          nameBy(cell.querySelector("input"), row.cells[0], head);
          page.addItem(step, "tick", () => job.valueOf(ask) === null);
        } else if (cell.classList.contains("blank")) {
          const slot = make("span", { class: "sign" });
          cell.append(slot);
          const { input, whole } = field(step, String(index), slot, { kind: "note", label: head ? plain(head) : "" });
          nameBy(input, row.cells[0], head);
          slot.replaceWith(whole);
        }
      });
    },
    "sign-off"(step) {
      const { element: row } = step;
      const heads = row.closest("table").querySelectorAll("thead th");
      const slots = [...row.cells].filter((cell) => cell.classList.contains("blank"));
      const [first, second] = slots.map((cell) => {
        const slot = make("span", { class: "sign" });
        cell.append(slot);
        return { slot, names: [row.cells[0], row.cells[1], heads[cell.cellIndex]] };
      });
      const signed = signature(step, "signed", first.slot, { label: plain(row.cells[1]), names: first.names });
      if (!second) return;
      const { ask, input, whole } = field(step, "date", second.slot, { kind: "date", label: plain(second.names[2]) });
      nameBy(input, ...second.names);
      second.slot.replaceWith(whole);
      // Whoever signs need not type the date.
      const signInput = row.querySelector("input");
      signInput.addEventListener("change", () => {
        if (job.valueOf(signed) === null || job.valueOf(ask) !== null) return;
        const today = new Date().toLocaleDateString(document.documentElement.lang, { dateStyle: "medium" });
        if (enter(ask, today)) ask.show(today);
      });
    },
  };

  for (const step of page.steps) makers[step.kind](step);

  for (const room of document.querySelectorAll(".wrong-here")) {
    const label = room.querySelector(".label");
    const { input, whole } = field(page.whole, "wrong-here", make("span", { class: "room" }), {
      kind: "note",
      label: plain(label),
      tag: "textarea",
    });
    nameBy(input, label);
    room.append(whole);
  }

  Live.controls = { field, check, enter };
}
