//! Whether the file of third-party notices is up to date. Making it takes a minute, so the tests only compare names.

use std::collections::BTreeSet;

/// The crates, each as `name version`, for which the notices have to be made again: those of the program that are not
/// in them, and those in them that are not locked any more.
pub(crate) fn outdated(notices: &str, program: &str, lock: &str) -> BTreeSet<String> {
    let listed: BTreeSet<&str> = notices
        .lines()
        .filter_map(|line| line.strip_prefix("- "))
        .collect();
    let program: BTreeSet<String> = program.lines().filter_map(crate_of_tree).collect();
    let locked = locked(lock);
    let missing = program
        .into_iter()
        .filter(|name| !listed.contains(name.as_str()));
    let stale = listed.iter().filter(|name| !locked.contains(**name));
    missing
        .chain(stale.map(|name| (*name).to_owned()))
        .collect()
}

/// A line of `cargo tree`: `serde v1.0.0 (proc-macro)`.
fn crate_of_tree(line: &str) -> Option<String> {
    let (name, rest) = line.split_once(" v")?;
    let version = rest.split(' ').next()?;
    Some(format!("{name} {version}"))
}

/// The crates in a lock file. In its entry of a crate, the line of the version follows that of the name.
fn locked(lock: &str) -> BTreeSet<String> {
    let mut name = "";
    let mut locked = BTreeSet::new();
    for line in lock.lines() {
        let quoted = |key: &str| line.strip_prefix(key)?.strip_suffix('"');
        if let Some(text) = quoted("name = \"") {
            name = text;
        } else if let Some(version) = quoted("version = \"") {
            locked.insert(format!("{name} {version}"));
        }
    }
    locked
}

#[cfg(test)]
mod tests {
    use super::outdated;

    const NOTICES: &str = "# Licences\n\n## MIT\n\n- toml 1.1.0\n- walkdir 2.5.0\n\ntext\n";
    const LOCK: &str = "[[package]]\nname = \"toml\"\nversion = \"1.1.0\"\n\n\
        [[package]]\nname = \"walkdir\"\nversion = \"2.5.0\"\n";

    #[test]
    fn notices_with_every_crate_are_up_to_date() {
        let tree = "toml v1.1.0\nwalkdir v2.5.0\n";
        assert!(outdated(NOTICES, tree, LOCK).is_empty());
        // Macros are listed, and are not in the program.
        assert!(outdated(NOTICES, "toml v1.1.0\n", LOCK).is_empty());
    }

    #[test]
    fn new_and_removed_crates_and_versions_are_named() {
        let tree = "toml v1.2.0\nmemchr v2.0.0 (proc-macro)\n";
        let lock = LOCK.replace("1.1.0", "1.2.0");
        let outdated = outdated(NOTICES, tree, &lock);
        assert_eq!(
            outdated.iter().map(String::as_str).collect::<Vec<_>>(),
            ["memchr 2.0.0", "toml 1.1.0", "toml 1.2.0"]
        );
    }
}
