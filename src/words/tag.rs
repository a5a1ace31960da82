//! Language tags.

/// Chooses a language for a tag; see [`Words::of`](super::Words::of).
pub(super) fn resolve<'l, T>(
    languages: &'l [T],
    tag: &str,
    tag_of: impl Fn(&T) -> &str,
) -> Option<&'l T> {
    let find = |prefix: &str| {
        languages
            .iter()
            .find(|language| tag_of(language).eq_ignore_ascii_case(prefix))
    };
    let mut prefix = tag;
    loop {
        if let Some(language) = find(prefix) {
            return Some(language);
        }
        match prefix.rsplit_once('-') {
            Some((shorter, _)) => prefix = shorter,
            None => break,
        }
    }
    languages
        .iter()
        .find(|language| has_prefix(tag_of(language), prefix))
}

/// Whether a language tag is `prefix`, or begins with it and a hyphen, in any case.
pub(super) fn has_prefix(tag: &str, prefix: &str) -> bool {
    let Some((start, rest)) = tag.split_at_checked(prefix.len()) else {
        return false;
    };
    start.eq_ignore_ascii_case(prefix) && (rest.is_empty() || rest.starts_with('-'))
}
