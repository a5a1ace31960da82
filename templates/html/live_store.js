// The live checklist: storage in the browser, or in memory if the browser refuses.
//
// Every record is one item, so a write replaces it as a whole, or fails and leaves the old one. Nothing is removed
// before its replacement is stored.

{
  /** The names of records, and of texts that could not be read as records. The rest of a name is a JSON list. */
  const RECORD = "benchleaf-job ";
  const UNREADABLE = "benchleaf-unreadable ";

  /** What the browser did not store. */
  const memory = new Map();
  let reason = null;

  const isFull = (error) => error?.name === "QuotaExceededError" || error?.name === "NS_ERROR_DOM_QUOTA_REACHED";

  const store = {
    /** Why something is not stored: "full" or "refused". Null if everything is. */
    get trouble() {
      return memory.size ? reason : null;
    },

    read(name) {
      if (memory.has(name)) return memory.get(name);
      try {
        return localStorage.getItem(name);
      } catch {
        return null;
      }
    },

    /** Returns whether the browser stored the text. If not, it is kept until the page is closed. */
    write(name, text) {
      try {
        localStorage.setItem(name, text);
        memory.delete(name);
        return true;
      } catch (error) {
        reason = isFull(error) ? "full" : "refused";
        memory.set(name, text);
        return false;
      }
    },

    remove(name) {
      memory.delete(name);
      try {
        localStorage.removeItem(name);
      } catch {
        // Without storage there is nothing to remove.
      }
    },

    /** Stores a text under a new name, and only then removes the old one. */
    move(from, to, text) {
      const isStored = store.write(to, text);
      if (isStored || memory.has(from)) store.remove(from);
      return isStored;
    },

    names() {
      let stored = [];
      try {
        stored = Object.keys(localStorage);
      } catch {
        // Without storage there are only those in memory.
      }
      return [...new Set([...stored, ...memory.keys()])].sort();
    },

    nameOf: (sheet, job) => RECORD + JSON.stringify([sheet, job]),

    /** The stored records: name, sheet and job of each. */
    records: () => listed(RECORD).map(({ name, list: [sheet, job] }) => ({ name, sheet, job })),

    /** Keeps the text of a record that can't be read under another name, where no entry can replace it. */
    setAside(name, sheet, job) {
      const text = store.read(name);
      const digest = Live.sha256(text).slice(0, 8);
      store.move(name, UNREADABLE + JSON.stringify([sheet, job, digest]), text);
    },

    /** What was set aside of a sheet. */
    unreadable: (sheet) =>
      listed(UNREADABLE)
        .filter(({ list }) => list[0] === sheet)
        .map(({ name, list: [, job] }) => ({ name, job, text: store.read(name) })),
  };

  /** The items whose names begin with a prefix and go on with a list of texts. */
  function listed(prefix) {
    return store
      .names()
      .filter((name) => name.startsWith(prefix))
      .map((name) => ({ name, list: parsed(name.slice(prefix.length)) }))
      .filter(({ list }) => Array.isArray(list) && list.every((text) => typeof text === "string"));
  }

  function parsed(text) {
    try {
      return JSON.parse(text);
    } catch {
      return null;
    }
  }

  Live.store = store;
}
