//! What pages need besides what they are about.

use super::{Edition, Translation};
use crate::tree::Tree;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What leaves need besides what they are about.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Where each figure of the tree stands in the output.
    figures: BTreeMap<String, String>,
    /// The leaves that are made in this run, by their paths in the first edition: only these are
    /// linked to.
    pub(crate) made: Arc<BTreeSet<String>>,
    /// The language that the leaves are in.
    pub(crate) edition: Edition,
    /// All the languages that they are made in.
    editions: Vec<Edition>,
    /// Where the shop's logo stands in the output.
    pub logo: Option<String>,
}

impl Setting {
    /// The setting for a tree's leaves in one of its editions, when those at the paths in `made`
    /// are made.
    #[must_use]
    pub fn new(
        tree: &Tree,
        edition: &Edition,
        editions: &[Edition],
        made: impl Into<Arc<BTreeSet<String>>>,
    ) -> Setting {
        let figures = tree.figures.iter().map(|figure| {
            (
                figure.path.clone(),
                figure_path(&figure.path, &figure.bytes),
            )
        });
        Setting {
            figures: figures.collect(),
            made: made.into(),
            edition: edition.clone(),
            editions: editions.to_vec(),
            logo: None,
        }
    }

    /// Where a figure of the tree stands in the output, named by its content:
    /// a figure that changes gets another name, so no page shows a new one by mistake.
    #[must_use]
    pub fn figure(&self, path: &str) -> Option<&str> {
        self.figures.get(path).map(String::as_str)
    }

    /// Whether the page at a path of the first edition is made in this run.
    #[must_use]
    pub fn is_made(&self, path: &str) -> bool {
        self.made.contains(path)
    }

    /// The leaf at a path of the first edition, in the other editions.
    pub(crate) fn translations(&self, path: &str) -> Vec<Translation> {
        let others = self.editions.iter();
        others
            .filter(|edition| edition.language != self.edition.language)
            .map(|edition| Translation {
                language: edition.language.clone(),
                name: edition.words.get("language-name").to_owned(),
                path: edition.path(path),
            })
            .collect()
    }
}

fn figure_path(path: &str, bytes: &[u8]) -> String {
    let name = path.rsplit('/').next().unwrap_or(path);
    let (stem, ending) = name.rsplit_once('.').unwrap_or((name, "svg"));
    // A name from disk may hold anything; in an address it may not.
    let stem: String = stem
        .chars()
        .map(|letter| {
            if letter.is_ascii_alphanumeric() {
                letter.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .collect();
    let content = blake3::hash(bytes).to_hex();
    format!(
        "figures/{stem}-{}.{}",
        &content[..8],
        ending.to_ascii_lowercase()
    )
}
