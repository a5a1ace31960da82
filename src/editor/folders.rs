//! Finds the sources folders of a workspace.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};

/// The file that makes a folder a sources folder.
const SHOP_FILE: &str = "shop.toml";

/// How deep below a workspace folder sources are looked for: `docs/shop/procedures`.
const MAX_DEPTH: usize = 4;
/// The most folders that are looked at, because a workspace can be a whole home folder.
const MAX_FOLDERS: usize = 4_000;
/// The most sources folders of a workspace folder that are checked before one of their files is opened.
const MAX_FOUND: usize = 8;

/// Whether a folder has sources.
fn is_sources(folder: &Path) -> bool {
    folder.join(SHOP_FILE).is_file()
}

/// The sources folder that a path is in, or that it is.
pub(super) fn around(path: &Path) -> Option<PathBuf> {
    let mut folders = path.ancestors();
    folders
        .find(|folder| is_sources(folder))
        .map(Path::to_owned)
}

/// The sources folders of a workspace folder: the one around it, or those in it, the nearest first. A folder with
/// machines and without a shop file counts if there is no other.
pub(super) fn of_workspace(folder: &Path) -> Vec<PathBuf> {
    if let Some(around) = around(folder) {
        return vec![around];
    }
    let mut found = Vec::new();
    let mut unfinished = None;
    let mut queue = VecDeque::from([(folder.to_owned(), 0)]);
    let mut looked_at = 0;
    while let Some((folder, depth)) = queue.pop_front() {
        looked_at += 1;
        if looked_at > MAX_FOLDERS || found.len() == MAX_FOUND {
            break;
        }
        if is_sources(&folder) {
            found.push(folder);
            continue;
        }
        if unfinished.is_none() && folder.join("machines").is_dir() {
            unfinished = Some(folder.clone());
        }
        if depth < MAX_DEPTH {
            queue.extend(
                subfolders(&folder)
                    .into_iter()
                    .map(|folder| (folder, depth + 1)),
            );
        }
    }
    if found.is_empty() {
        found.extend(unfinished);
    }
    found
}

/// The folders in a folder, in order of their names, without hidden ones and links.
fn subfolders(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let folders = entries.filter(|entry| {
        let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
        let name = entry.file_name();
        let name = name.to_string_lossy();
        is_folder && !name.starts_with('.') && name != "node_modules" && name != "target"
    });
    let mut folders: Vec<PathBuf> = folders.map(|entry| entry.path()).collect();
    folders.sort();
    folders
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn sources_are_found_around_and_within_a_workspace() {
        let folder = tempfile::tempdir().unwrap();
        let path = |path: &str| folder.path().join(path);
        for shop in [
            "work/docs/shop",
            "work/other",
            "work/.git/x",
            "work/a/b/c/d/e",
        ] {
            fs::create_dir_all(path(shop).join("machines")).unwrap();
            fs::write(path(shop).join(SHOP_FILE), "").unwrap();
        }
        fs::create_dir_all(path("new/machines")).unwrap();
        let found = of_workspace(&path("work"));
        assert_eq!(found, [path("work/other"), path("work/docs/shop")]);
        let inside = path("work/other/machines");
        assert_eq!(of_workspace(&inside), [path("work/other")]);
        assert_eq!(around(&inside.join("m.toml")), Some(path("work/other")));
        assert_eq!(of_workspace(&path("new")), [path("new")]);
        assert!(of_workspace(&path("work/.git")).len() == 1);
    }
}
