// The live checklist: pointers on the scale of a reading, the first box's above it and the second one's below it.

{
  const { page, job, reading } = Live;
  /** Half the width of a pointer, and its height, in the unit of the drawing. */
  const [HALF, HEIGHT] = [9, 12];

  function addPointer(svg) {
    const pointer = document.createElementNS(svg.namespaceURI, "polygon");
    pointer.setAttribute("fill", "currentColor");
    svg.append(pointer);
    return pointer;
  }

  /** Where a value is on a scale. A value beyond its ends is at the end. */
  function placeOf(value, { from, to, first, last }) {
    const share = (value - first) / (last - first);
    return from + Math.min(1, Math.max(0, share)) * (to - from);
  }

  function show({ ask, lane, pointer, scale }) {
    const value = reading.numberIn(job.valueOf(ask) ?? "");
    pointer.style.display = Number.isNaN(value) ? "none" : "";
    if (Number.isNaN(value)) return;
    const x = Math.round(placeOf(value, scale));
    const [tip, end] = lane === 0 ? [scale.top, scale.top - HEIGHT] : [scale.bottom, scale.bottom + HEIGHT];
    pointer.setAttribute("points", `${x},${tip} ${x - HALF},${end} ${x + HALF},${end}`);
  }

  const pointers = [];
  for (const step of page.steps.filter(({ kind }) => kind === "step")) {
    const drawings = [...step.element.querySelectorAll(".gauge svg")];
    const blanks = [...step.element.querySelectorAll(".blanks > li")];
    const readings = blanks.filter((blank) => blank.classList.contains("reading"));
    drawings.forEach((svg, index) => {
      const scale = Object.fromEntries(Object.entries(svg.dataset).map(([name, value]) => [name, Number(value)]));
      const boxes = step.asks.filter(({ field }) => field.startsWith(`${blanks.indexOf(readings[index])}.`));
      boxes.forEach((ask, lane) => pointers.push({ ask, lane, scale, pointer: addPointer(svg) }));
    });
  }

  Live.onChange(() => pointers.forEach(show));
}
