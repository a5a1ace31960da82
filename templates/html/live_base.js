// The live checklist: what its scripts share.
//
// A checklist is a page to print. These scripts make it a page to fill in: they turn each box into a control, save the
// entries in the browser, and export and import them as a file. They make no requests. All their words come with the
// page, in its language.
//
// Each script is about one thing and adds it to `Live`. They are joined into one file (src/render/html/shared.rs), in
// an order in which a script uses only those before it when it is loaded.

"use strict";

const Live = {};

{
  /** What the page says of its sheet: see `LiveSheet` in src/render/html/pages.rs. */
  Live.sheet = JSON.parse(document.getElementById("live").textContent);

  /** A text of the page's language, with its places filled. */
  Live.say = (key, places = {}) =>
    LIVE_WORDS[key].replace(/\{([a-z]*)\}/g, (_, name) => String(places[name] ?? ""));

  /** A text for one thing, or for another number of them. */
  Live.sayCount = (one, many, count) => Live.say(count === 1 ? one : many, { count });

  /** A date and time of a record, as a reader writes it. */
  Live.sayTime = (text) => {
    const time = new Date(text);
    const style = { dateStyle: "medium", timeStyle: "short" };
    return Number.isNaN(time.getTime()) ? "" : time.toLocaleString(document.documentElement.lang, style);
  };

  /** Makes an element. A function among the attributes is a listener; null and false are left out. */
  Live.make = (tag, given = {}, ...inside) => {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(given)) {
      if (typeof value === "function") {
        element.addEventListener(name, value);
      } else if (value !== null && value !== undefined && value !== false) {
        element.setAttribute(name, value === true ? "" : value);
      }
    }
    element.append(...inside.filter((part) => part !== null && part !== undefined));
    return element;
  };

  Live.button = (text, act, given = {}) => Live.make("button", { type: "button", click: act, ...given }, text);

  /** Sets an element's text only if it differs, so that a screen reader does not repeat it. */
  Live.setText = (element, text) => {
    if (element.textContent !== text) element.textContent = text;
  };

  let named = 0;
  Live.idOf = (element) => (element.id ||= `name-${(named += 1)}`);

  /** Names a control by the elements that already say what it is. */
  Live.nameBy = (control, ...elements) =>
    control.setAttribute("aria-labelledby", elements.filter(Boolean).map(Live.idOf).join(" "));

  /** The text of an element on one line. */
  Live.plain = (element) => element.textContent.replace(/\s+/g, " ").trim();

  /** A button for what can't be undone. The first tap asks, the second confirms. */
  Live.twice = (text, question, act) => {
    let armed = 0;
    const disarm = () => {
      clearTimeout(armed);
      armed = 0;
      button.textContent = text;
      button.classList.remove("armed");
    };
    const button = Live.button(text, () => {
      if (armed) {
        disarm();
        act();
      } else {
        button.textContent = question();
        button.classList.add("armed");
        armed = setTimeout(disarm, 6000);
      }
    });
    button.addEventListener("blur", disarm);
    return button;
  };

  const watchers = [];
  /** Calls a function after every change of the entries. */
  Live.onChange = (act) => watchers.push(act);
  Live.changed = () => watchers.forEach((act) => act());

  const openers = [];
  /** Calls a function after every change of which entries are shown: another job, an import, another window. */
  Live.onOpen = (act) => openers.push(act);
  Live.opened = () => openers.forEach((act) => act());

  const viewers = [];
  /** Calls a function after every change of what is in view: the list, or a step in the bench view. */
  Live.onView = (act) => viewers.push(act);
  Live.changedView = () => viewers.forEach((act) => act());
}
