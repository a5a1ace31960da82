// The live checklist: photos on steps.
//
// A photo is scaled down and stored by its digest, in the browser's database, where there is more room than for
// entries. The entry `photo.DIGEST` of its step says that the step has it: { "photo": "DIGEST" }. So photos of two
// windows or devices are merged like all entries, and a photo that comes twice is the same one.

{
  const { make, say, page, job, record: R } = Live;
  /** The longer side of a stored photo, in pixels, and its quality as a JPEG. */
  const LONGEST_SIDE = 1280;
  const QUALITY = 0.7;
  const PREFIX = "data:image/jpeg;base64,";

  // The database

  /** What the browser did not store, by digest. */
  const memory = new Map();
  let database = null;

  const request = (asked) =>
    new Promise((resolve, reject) => {
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
      asked.onblocked = () => reject(new Error("blocked"));
    });

  function open() {
    database ??= (async () => {
      const asked = indexedDB.open("benchleaf-photos", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("photos");
      return request(asked);
    })();
    return database;
  }

  /** The photos of the database in a transaction. Throws if the browser refuses. */
  async function inStore(mode, act) {
    const transaction = (await open()).transaction("photos", mode);
    const done = new Promise((resolve, reject) => {
      transaction.oncomplete = () => resolve();
      transaction.onabort = () => reject(transaction.error);
      transaction.onerror = () => reject(transaction.error);
    });
    const [result] = await Promise.all([request(act(transaction.objectStore("photos"))), done]);
    return result;
  }

  async function read(digest) {
    if (memory.has(digest)) return memory.get(digest);
    try {
      return (await inStore("readonly", (photos) => photos.get(digest))) ?? null;
    } catch {
      return null;
    }
  }

  /** Returns whether the browser stored it. If not, it is kept until the page is closed. */
  async function write(digest, data) {
    try {
      await inStore("readwrite", (photos) => photos.put(data, digest));
      memory.delete(digest);
    } catch {
      memory.set(digest, data);
    }
    settle();
    return !memory.has(digest);
  }

  async function remove(digest) {
    memory.delete(digest);
    settle();
    try {
      await inStore("readwrite", (photos) => photos.delete(digest));
    } catch {
      // It was not stored.
    }
  }

  /** Says how many photos are lost when the page is closed. */
  const settle = () => Live.warn(memory.size ? say("photos-not-stored", { count: memory.size }) : "", "photos");

  addEventListener("beforeunload", (event) => {
    if (memory.size) event.preventDefault();
  });

  // Taking

  const digestOf = (data) => Live.sha256(data).slice(0, 16);

  /** A picture file as a JPEG of at most so many pixels. Throws if the browser can't read it. */
  async function scaled(file) {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
    const canvas = make("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    const pen = canvas.getContext("2d");
    // A JPEG has no transparency.
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    return canvas.toDataURL("image/jpeg", QUALITY);
  }

  const fieldOf = (digest) => `photo.${digest}`;
  const isPhoto = (value) => typeof value?.photo === "string";
  const askOf = (step, digest) => ({ step, key: R.keyOf(step.id, fieldOf(digest)), field: fieldOf(digest) });

  async function take(step, file) {
    if (Live.holds.refuses(step)) return;
    let data;
    try {
      data = await scaled(file);
    } catch {
      Live.tell(say("photo-unreadable", { name: file.name }));
      return;
    }
    const digest = digestOf(data);
    await write(digest, data);
    job.enter(askOf(step, digest), { photo: digest });
    await showAll();
  }

  // Showing

  /** The photos of a step in a record, as digests, the first taken first. */
  const of = (record, step) =>
    [...record.entries]
      .filter(([key, { value }]) => R.stepOf(key) === step.id && isPhoto(value))
      .sort(([, one], [, other]) => one.n - other.n)
      .map(([, { value, at }]) => ({ digest: value.photo, at }));

  const places = [];

  async function show({ step, list, digests }) {
    const found = of(job.record, step);
    const wanted = found.map(({ digest }) => digest).join(" ");
    if (digests.now === wanted) return;
    digests.now = wanted;
    const figures = await Promise.all(
      found.map(async ({ digest, at }) => {
        const data = await read(digest);
        const text = say("photo-of", { step: page.nameOf(step), time: Live.sayTime(at) });
        const shown = data ? make("img", { src: data, alt: text }) : make("p", {}, say("photo-elsewhere"));
        const forget = Live.twice(say("photo-remove"), () => say("photo-remove-sure"), async () => {
          job.enter(askOf(step, digest), null);
          await remove(digest);
          await showAll();
        });
        return make("figure", { class: "photo" }, shown, make("figcaption", {}, Live.sayTime(at), " ", forget));
      }),
    );
    // Another call may have been faster.
    if (digests.now === wanted) list.replaceChildren(...figures);
  }

  const showAll = () => Promise.all(places.map(show));

  // One input for all steps: the browser offers the camera or a file.
  let target = null;
  const input = make("input", {
    type: "file",
    accept: "image/*",
    class: "unseen",
    hidden: true,
    id: "photo",
    change: async () => {
      const files = [...input.files];
      input.value = "";
      for (const file of files) await take(target, file);
    },
  });

  function addPlace(step, inside, after) {
    const list = make("div", { class: "photos" });
    const button = Live.button(
      make("i", { class: "icon i-photo" }),
      () => {
        target = step;
        input.click();
      },
      { class: "photo-take", "aria-label": say("photo-take", { step: page.nameOf(step) }), title: say("photo") },
    );
    inside.append(list);
    after.append(button);
    places.push({ step, list, digests: { now: "" } });
  }

  for (const step of page.steps) {
    const { element, kind } = step;
    if (kind === "step") addPlace(step, element.querySelector(".what"), element.querySelector(".numbered"));
    else if (kind === "group") addPlace(step, element, element);
  }
  document.body.append(input);

  Live.onOpen(showAll);

  // Files

  /** The photos of a record, as digests. */
  const allOf = (record) => [
    ...new Set([...record.entries.values()].filter(({ value }) => isPhoto(value)).map(({ value }) => value.photo)),
  ];

  /** The photos of a record, for its file. */
  async function forFile(record) {
    const found = await Promise.all(allOf(record).map(async (id) => ({ id, data: await read(id) })));
    return found.filter(({ data }) => data);
  }

  /** The photos in the object of a file. Throws a `Refusal` if they are not what they say. */
  function fromFile(data) {
    if (data.photos === undefined) return [];
    if (!Array.isArray(data.photos)) throw new R.Refusal("bad-value", { place: "photos", kind: "list" });
    return data.photos.map((photo, index) => {
      const isRight = typeof photo?.data === "string" && photo.data.startsWith(PREFIX) && digestOf(photo.data) === photo.id;
      if (!isRight) throw new R.Refusal("bad-value", { place: `photos[${index}]`, kind: "photo" });
      return { id: photo.id, data: photo.data };
    });
  }

  Live.photos = {
    of: allOf,
    forget: (digests) => Promise.all(digests.map(remove)),
    forFile,
    fromFile,
    isField: (field, value) => isPhoto(value) && field === fieldOf(value.photo),
    /** Stores photos of a file. */
    keep: async (photos) => {
      for (const { id, data } of photos) await write(id, data);
      await showAll();
    },
    /** Resolves when all photos are on the page. */
    shown: async () => {
      await showAll();
      await Promise.all([...document.querySelectorAll(".photo img")].map((img) => img.decode().catch(() => {})));
    },
  };
}
