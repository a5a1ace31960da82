//! Names of files and folders that some systems can't tell apart.

use super::rules;
use crate::finding::Finding;
use std::collections::BTreeMap;
use unicode_normalization::UnicodeNormalization as _;

/// The findings about files and folders whose names differ only in capitals or in Unicode form, a pair each. Copied to a
/// system that takes them for one, the tree would lose a file.
pub(super) fn look_alikes<'p>(paths: impl Iterator<Item = &'p str>) -> Vec<Finding> {
    let mut known: BTreeMap<String, &str> = BTreeMap::new();
    let mut findings = Vec::new();
    for path in paths {
        let folders = path.match_indices('/').map(|(end, _)| &path[..end]);
        for name in folders.chain([path]) {
            let key = name.to_lowercase().nfc().collect();
            let first = *known.entry(key).or_insert(name);
            // The files of two such folders are reported with the folders.
            if first != name {
                findings.push(look_alike(first, name));
                break;
            }
        }
    }
    findings.dedup_by(|one, other| one.message == other.message);
    findings
}

fn look_alike(first: &str, second: &str) -> Finding {
    let message = format!(
        "`{first}` and `{second}` differ only in capitals or in how their letters are encoded"
    );
    Finding::new(&rules::LOOK_ALIKE_PATHS, message).help("rename one of the two, or join them")
}

#[cfg(test)]
mod tests {
    use super::look_alikes;

    fn messages(paths: &[&str]) -> Vec<String> {
        let findings = look_alikes(paths.iter().copied()).into_iter();
        findings.map(|finding| finding.message).collect()
    }

    #[test]
    fn names_that_some_systems_take_for_one_are_found() {
        let differ = "differ only in capitals or in how their letters are encoded";
        assert_eq!(
            messages(&["Fuel/a.md", "Fuel/b.md", "fuel/c.md", "fuel/d.md"]),
            [format!("`Fuel` and `fuel` {differ}")]
        );
        assert_eq!(
            messages(&["figures/A.svg", "figures/a.svg"]),
            [format!("`figures/A.svg` and `figures/a.svg` {differ}")]
        );
        // The same letter as one character, and as two.
        assert_eq!(messages(&["caf\u{e9}/a.md", "cafe\u{301}/a.md"]).len(), 1);
        assert_eq!(messages(&["ÉTÉ/a.md", "e\u{301}te\u{301}/b.md"]).len(), 1);
    }

    #[test]
    fn other_names_are_quiet() {
        let paths = [
            "Fuel/a.md",
            "Fuel/b.md",
            "fuel-2/a.md",
            "a/fuel.md",
            "fue/a.md",
        ];
        assert_eq!(messages(&paths), [""; 0]);
    }
}
