// The live checklist: the digest of an exported file.
//
// A browser has SHA-256 only on pages from https, localhost or a disk, and only asynchronously. This one works
// everywhere. A test compares it with another implementation.

{
  const isPrime = (number) => {
    for (let factor = 2; factor * factor <= number; factor += 1) {
      if (number % factor === 0) return false;
    }
    return true;
  };
  const primes = [];
  for (let number = 2; primes.length < 64; number += 1) {
    if (isPrime(number)) primes.push(number);
  }
  /** The first 32 bits of a number's fraction. */
  const fraction = (number) => ((number - Math.floor(number)) * 2 ** 32) | 0;
  // FIPS 180-4, 4.2.2 and 5.3.3: the fractions of the cube and square roots of the first primes.
  const ROUNDS = primes.map((prime) => fraction(Math.cbrt(prime)));
  const START = primes.slice(0, 8).map((prime) => fraction(Math.sqrt(prime)));

  const turn = (word, bits) => (word >>> bits) | (word << (32 - bits));

  /** Adds a block of 64 bytes to the state (FIPS 180-4, 6.2.2). `words` has room for 64 words. */
  function addBlock(state, bytes, at, words) {
    for (let index = 0; index < 16; index += 1) words[index] = bytes.getInt32(at + 4 * index);
    for (let index = 16; index < 64; index += 1) {
      const [early, late] = [words[index - 15], words[index - 2]];
      const small = turn(early, 7) ^ turn(early, 18) ^ (early >>> 3);
      const large = turn(late, 17) ^ turn(late, 19) ^ (late >>> 10);
      words[index] = (words[index - 16] + small + words[index - 7] + large) | 0;
    }
    let [a, b, c, d, e, f, g, h] = state;
    for (let index = 0; index < 64; index += 1) {
      const large = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
      const first = (h + large + ((e & f) ^ (~e & g)) + ROUNDS[index] + words[index]) | 0;
      const small = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
      const second = (small + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + first) | 0, c, b, a, (first + second) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((word, index) => {
      state[index] = (state[index] + word) | 0;
    });
  }

  /** The SHA-256 of a text in UTF-8, in hexadecimal digits. */
  Live.sha256 = (text) => {
    const content = new TextEncoder().encode(text);
    // The content, a bit, zeros, and the content's length in bits, in whole blocks.
    const padded = new Uint8Array(Math.ceil((content.length + 9) / 64) * 64);
    padded.set(content);
    padded[content.length] = 0x80;
    const bytes = new DataView(padded.buffer);
    bytes.setUint32(padded.length - 8, Math.floor(content.length / 2 ** 29));
    bytes.setUint32(padded.length - 4, (content.length * 8) >>> 0);
    const state = [...START];
    const words = new Int32Array(64);
    for (let at = 0; at < padded.length; at += 64) addBlock(state, bytes, at, words);
    return state.map((word) => (word >>> 0).toString(16).padStart(8, "0")).join("");
  };

  /** A value as canonical JSON (RFC 8785): without space, with sorted names. */
  Live.canonical = (value) => {
    if (Array.isArray(value)) return `[${value.map(Live.canonical).join(",")}]`;
    if (typeof value !== "object" || value === null) return JSON.stringify(value);
    const names = Object.keys(value).sort();
    return `{${names.map((name) => `${JSON.stringify(name)}:${Live.canonical(value[name])}`).join(",")}}`;
  };

  /** The digest of an exported file: that of its canonical JSON without the digest itself. */
  Live.digest = ({ digest, ...rest }) => `sha256:${Live.sha256(Live.canonical(rest))}`;
}
