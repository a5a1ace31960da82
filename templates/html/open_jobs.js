// The jobs that are open on this device, for the front page: machine, job number, step and since when. One tap goes on.
//
// They are the records of the live checklists in the browser's storage; `live_record.js` describes their format. All
// texts are attributes of the section.

(() => {
  "use strict";

  const section = document.getElementById("open-jobs");
  const { up, job, noJob, at, since, apart } = section.dataset;
  const language = document.documentElement.lang;
  const PREFIX = "benchleaf-job ";
  /** The number of jobs that are shown at once. */
  const SHOWN = 5;

  const fill = (text, places) => text.replace(/\{([a-z]+)\}/g, (_, name) => String(places[name] ?? ""));

  function parsed(text) {
    try {
      return JSON.parse(text);
    } catch {
      return null;
    }
  }

  const isText = (value) => typeof value === "string" && value.length < 400;
  /** A path of this site: an address could lead anywhere. */
  const isPath = (path) => isText(path) && /^[\w-][\w./-]*-bench-checklist$/.test(path) && !path.includes("..");

  /** Whether a record is of a job that has begun and is not complete. */
  function isOpen(record) {
    if (record?.format !== "benchleaf-checklist" || !isPath(record.path) || !isText(record.sheet)) return false;
    if (!Array.isArray(record.steps) || !isText(record.title) || !isText(record.job)) return false;
    const isSet = (ask) => ask?.value !== undefined && ask.value !== null;
    const hasEntries = record.steps.some((step) => Array.isArray(step?.asks) && step.asks.some(isSet));
    return hasEntries && record.state?.missing !== 0;
  }

  /** The open jobs, the last one that was worked on first. Null if the browser does not show its storage. */
  function openJobs() {
    try {
      const names = Object.keys(localStorage).filter((name) => name.startsWith(PREFIX));
      const records = names.map((name) => parsed(localStorage.getItem(name))).filter(isOpen);
      return records.sort((one, other) => (String(one.saved) < String(other.saved) ? 1 : -1));
    } catch {
      return null;
    }
  }

  const make = (tag, className, ...inside) => {
    const element = document.createElement(tag);
    if (className) element.className = className;
    element.append(...inside);
    return element;
  };

  function line(record) {
    const { step, all } = record.state ?? {};
    const link = make("a", "", [record.machine, record.title].filter(isText).join(": "));
    link.href = `${up}${encodeURI(record.path)}.html${Number.isInteger(step) ? `#step-${step}` : ""}`;
    link.addEventListener("click", () => {
      // The checklist opens the job that was open last.
      try {
        localStorage.setItem(`benchleaf-last ${JSON.stringify([record.sheet])}`, record.job);
      } catch {
        // Then the person chooses the job there.
      }
    });
    const begun = new Date(record.begun);
    const time = begun.toLocaleString(language, { dateStyle: "medium", timeStyle: "short" });
    const about = [
      record.job ? fill(job, { number: record.job }) : noJob,
      Number.isInteger(step) ? fill(at, { step, all }) : null,
      Number.isNaN(begun.getTime()) ? null : fill(since, { time }),
    ];
    return make("li", "", make("p", "entry", link, " ", make("span", "about", about.filter(Boolean).join(" · "))));
  }

  function show() {
    const jobs = openJobs();
    const parts = [];
    if (jobs?.length) {
      const lines = jobs.map(line);
      parts.push(make("ul", "entries-list", ...lines.slice(0, SHOWN)));
      if (lines.length > SHOWN) {
        const rest = lines.slice(SHOWN);
        parts.push(make("details", "", make("summary", "", `+ ${rest.length}`), make("ul", "entries-list", ...rest)));
      }
    } else if (!jobs || location.protocol === "file:") {
      // A browser can keep the storage of each file on a disk apart, and does not say so.
      parts.push(make("p", "about", apart));
    }
    section.hidden = !parts.length;
    section.replaceChildren(section.firstElementChild, ...parts);
  }

  show();
  addEventListener("storage", show);
  addEventListener("pageshow", show);
})();
