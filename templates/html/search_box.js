// The search box. Without scripts there is no search, so the page has only its place.
(() => {
  "use strict";

  const make = (tag, attributes, ...children) => {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    element.append(...children);
    return element;
  };
  const list = { role: "listbox", id: "search-list", tabindex: "-1", "aria-label": SEARCH_WORDS.list, hidden: "" };
  const field = {
    type: "text",
    id: "search-field",
    role: "combobox",
    "aria-expanded": "false",
    "aria-controls": "search-list",
    "aria-autocomplete": "list",
    "aria-keyshortcuts": "Control+K Meta+K",
    placeholder: SEARCH_WORDS.what,
    autocomplete: "off",
    autocapitalize: "none",
    spellcheck: "false",
    maxlength: "200",
    inputmode: "search",
    enterkeyhint: "go",
  };
  document.querySelector(".search").append(
    make("label", { for: "search-field" }, SEARCH_WORDS.label),
    make(
      "div",
      { class: "search-box i-search" },
      make("input", field),
      make("kbd", { "aria-hidden": "true" }, "Ctrl K"),
      make(
        "div",
        { class: "search-panel", hidden: "" },
        make("p", { class: "search-sum", "aria-hidden": "true" }),
        make("div", list),
      ),
    ),
    make("p", { role: "status", class: "spoken" }),
  );
})();
