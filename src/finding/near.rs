//! Known names that are similar to a mistyped one.

use std::fmt;

/// A known name that a mistyped one may stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Near<'a> {
    /// The known name.
    pub(crate) name: &'a str,
    /// Whether it can only be this one: no other name is as near, and the numbers in it are the same. `bolt-3` is no
    /// spelling mistake for `bolt-1`.
    pub(crate) is_certain: bool,
}

impl Near<'_> {
    /// An address that was made with a near name, as certain as the name.
    pub(crate) fn address<'n>(
        near: Option<Near<'_>>,
        address: Option<&'n str>,
    ) -> Option<Near<'n>> {
        let (near, name) = near.zip(address)?;
        Some(Near {
            name,
            is_certain: near.is_certain,
        })
    }
}

impl fmt::Display for Near<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl<'a> From<&'a str> for Near<'a> {
    /// A name that is known to be meant.
    fn from(name: &'a str) -> Near<'a> {
        Near {
            name,
            is_certain: true,
        }
    }
}

/// The known name that is most similar to a mistyped name. None if no name is similar enough.
pub(crate) fn nearest<'a>(
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<Near<'a>> {
    // A third of the letters can differ, but at least one, as in "nut" for "nuts".
    let limit = (name.chars().count() / 3).max(1);
    let candidates = known
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(name, candidate), candidate))
        .filter(|(distance, _)| *distance <= limit);
    let mut best: Option<(usize, &str)> = None;
    let mut is_only = true;
    for (distance, candidate) in candidates {
        match best {
            Some((least, other)) if (least, other) <= (distance, candidate) => {
                is_only &= least < distance || other == candidate;
            }
            Some((least, _)) => {
                is_only = distance < least;
                best = Some((distance, candidate));
            }
            None => best = Some((distance, candidate)),
        }
    }
    let (_, candidate) = best?;
    let digits = |name: &str| -> Vec<char> { name.chars().filter(char::is_ascii_digit).collect() };
    Some(Near {
        name: candidate,
        is_certain: is_only && digits(name) == digits(candidate),
    })
}

#[cfg(test)]
mod tests {
    use super::nearest;

    fn name<'a>(name: &str, known: &[&'a str]) -> Option<&'a str> {
        nearest(name, known.iter().copied()).map(|near| near.name)
    }

    #[test]
    fn only_a_similar_name_is_suggested() {
        assert_eq!(name("torqe", &["torque", "thread"]), Some("torque"));
        assert_eq!(name("nut", &["nuts", "bolts"]), Some("nuts"));
        assert_eq!(name("weight", &["torque", "thread"]), None);
    }

    #[test]
    fn name_is_certain_if_no_other_is_as_near_and_numbers_are_the_same() {
        let is_certain = |name: &str, known: &[&str]| {
            let near = nearest(name, known.iter().copied());
            near.map(|near| near.is_certain)
        };
        assert_eq!(
            is_certain("bowl-nutt", &["bowl-nut", "bowl-seat"]),
            Some(true)
        );
        assert_eq!(
            is_certain("bowl-nut", &["cowl-nut", "bowl-cut"]),
            Some(false)
        );
        assert_eq!(
            is_certain("bowl-nut", &["bowl-cut", "cowl-nut"]),
            Some(false)
        );
        assert_eq!(
            is_certain("bowl-nat", &["bowl-mat", "bowl-nut", "bowl-mat"]),
            Some(false)
        );
        assert_eq!(is_certain("bolt-3", &["bolt-1"]), Some(false));
        assert_eq!(is_certain("blot-10", &["bolt-10", "bolt-100"]), Some(true));
        assert_eq!(is_certain("wrench-1", &["wrench-10"]), Some(false));
        assert_eq!(is_certain("same", &["sane", "sane"]), Some(true));
    }
}
