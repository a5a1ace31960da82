//! Fingerprints of inputs.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::cell::Cell;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::io::Write as _;

/// The first 128 bits of a BLAKE3 hash.
///
/// The probability that two different inputs have the same fingerprint is negligible, so equal
/// fingerprints mean equal inputs. Prints and serialises as 32 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Fingerprint([u8; 16]);

impl Fingerprint {
    #[must_use]
    pub(crate) fn of_bytes(bytes: &[u8]) -> Fingerprint {
        Fingerprint::of_hash(&blake3::hash(bytes))
    }

    /// Of a value by its [`Hash`]. The implementation must be derived, because a field that it leaves out
    /// would not count as an input.
    pub(crate) fn of(value: &(impl Hash + ?Sized)) -> Fingerprint {
        let mut state = HashState::new();
        value.hash(&mut state);
        state.fingerprint()
    }

    /// Of plain data by its JSON.
    pub(crate) fn of_data(data: &(impl Serialize + ?Sized)) -> Fingerprint {
        let mut state = HashState::new();
        // Can't fail for plain data.
        let _ = serde_json::to_writer(&mut state.0, data);
        state.fingerprint()
    }

    /// Of a value by its [`fmt::Debug`] text. Slow, so only for values that are seldom compared.
    pub(super) fn of_debug(value: &impl fmt::Debug) -> Fingerprint {
        let mut state = HashState::new();
        // Writing to a hash state never fails.
        let _ = write!(state.0, "{value:?}");
        state.fingerprint()
    }

    /// The first 8 digits, for the name of a file.
    #[must_use]
    pub(crate) fn short(self) -> String {
        let mut text = self.to_string();
        text.truncate(8);
        text
    }

    /// The index of the shard that this key belongs to. Keys are spread evenly over `count` shards.
    pub(super) fn shard(self, count: usize) -> usize {
        usize::from(self.0[0]) % count
    }

    fn of_hash(hash: &blake3::Hash) -> Fingerprint {
        let mut half = [0; 16];
        half.copy_from_slice(&hash.as_bytes()[..16]);
        Fingerprint(half)
    }
}

impl AsRef<[u8]> for Fingerprint {
    fn as_ref(&self) -> &[u8] {
        &self.0
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", u128::from_be_bytes(self.0))
    }
}

impl fmt::Debug for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Serialize for Fingerprint {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Fingerprint {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Fingerprint, D::Error> {
        let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        let digits = text.bytes().all(|byte| byte.is_ascii_hexdigit());
        match u128::from_str_radix(&text, 16) {
            Ok(number) if digits && text.len() == 32 => Ok(Fingerprint(number.to_be_bytes())),
            _ => Err(de::Error::custom("expected 32 hexadecimal digits")),
        }
    }
}

/// Builds the fingerprint of a sequence of inputs.
#[derive(Clone, Default)]
pub(crate) struct FingerprintBuilder(blake3::Hasher);

impl FingerprintBuilder {
    /// Adds an input. Its length is added first, so that `ab`, `c` and `a`, `bc` differ.
    pub(crate) fn add(&mut self, input: impl AsRef<[u8]>) {
        let bytes = input.as_ref();
        self.0.update(&(bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
    }

    /// As [`FingerprintBuilder::add`], by value.
    #[must_use]
    pub(crate) fn with(mut self, input: impl AsRef<[u8]>) -> FingerprintBuilder {
        self.add(input);
        self
    }

    #[must_use]
    pub(crate) fn finish(&self) -> Fingerprint {
        Fingerprint::of_hash(&self.0.finalize())
    }
}

/// Collects what a derived [`Hash`], JSON or [`fmt::Debug`] write, to hash it at once.
///
/// They write a few bytes at a time, and BLAKE3 is several times as fast on many kilobytes.
struct HashState(Vec<u8>);

thread_local! {
    /// The memory of the last [`HashState`] of the thread, for the next one.
    static BUFFER: Cell<Vec<u8>> = const { Cell::new(Vec::new()) };
}

/// The memory that a thread keeps. Only a manual needs more.
const MAX_BUFFER: usize = 1 << 20;

impl HashState {
    fn new() -> HashState {
        let mut buffer = BUFFER.take();
        buffer.clear();
        HashState(buffer)
    }

    fn fingerprint(self) -> Fingerprint {
        let fingerprint = Fingerprint::of_bytes(&self.0);
        if self.0.capacity() <= MAX_BUFFER {
            BUFFER.set(self.0);
        }
        fingerprint
    }
}

impl Hasher for HashState {
    fn write(&mut self, bytes: &[u8]) {
        self.0.extend_from_slice(bytes);
    }

    /// Required by [`Hasher`], but not used here.
    fn finish(&self) -> u64 {
        let mut first = [0; 8];
        first.copy_from_slice(&blake3::hash(&self.0).as_bytes()[..8]);
        u64::from_le_bytes(first)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fingerprint_round_trips_through_json() {
        let fingerprint = Fingerprint::of_bytes(b"a");
        let text = serde_json::to_string(&fingerprint).unwrap();
        assert_eq!(text.len(), 34);
        assert_eq!(
            serde_json::from_str::<Fingerprint>(&text).unwrap(),
            fingerprint
        );
        for wrong in [
            "\"\"",
            "\"12\"",
            "\"+2345678901234567890123456789012\"",
            "3",
        ] {
            assert!(
                serde_json::from_str::<Fingerprint>(wrong).is_err(),
                "{wrong}"
            );
        }
    }

    #[test]
    fn boundaries_between_inputs_change_the_fingerprint() {
        let empty = FingerprintBuilder::default;
        let pair = |first: &str, second: &str| empty().with(first).with(second).finish();
        assert_ne!(pair("ab", "c"), pair("a", "bc"));
        assert_ne!(empty().with("a").finish(), pair("a", ""));
        assert_eq!(pair("a", "b"), pair("a", "b"));
        assert_ne!(Fingerprint::of(&("ab", "c")), Fingerprint::of(&("a", "bc")));
    }
}
