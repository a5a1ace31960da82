//! The rules of reading files.

use crate::finding::{Rule, rule};

/// The rules of this stage.
pub static RULES: [&Rule; 5] = [
    &BROKEN_FIGURE,
    &EMPTY_TREE,
    &NOT_UTF8,
    &UNREADABLE_FILE,
    &UNREAD_FILE,
];

rule! {
    /// A tree has no procedure in it.
    ///
    /// ## At the bench
    ///
    /// Nothing would be printed, which looks the same as nothing to do.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === bare
    /// === shop.toml
    /// name = "Elmbrook workshop"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the folder that holds `shop.toml`, or write the first procedure.
    "empty-tree", Reading, Error => pub(super) EMPTY_TREE
}

rule! {
    /// A file holds bytes that are not UTF-8 text.
    ///
    /// ## At the bench
    ///
    /// A letter that can't be read may be a degree sign or a ±: the value it stands in can't be trusted.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.wrench-13]
    /// name = "13 mm wrench \xb1"
    /// ```
    ///
    /// ## Fix
    ///
    /// Save the file as UTF-8 in the editor.
    "not-utf8", Reading, Error => pub(super) NOT_UTF8
}

rule! {
    /// A file or folder of the tree can't be read.
    ///
    /// ## At the bench
    ///
    /// A sheet made without it would lack whatever it says.
    ///
    /// ## Example
    ///
    /// A file without read permission, a link that leads out of the tree or in a circle: none of these
    /// can be written down in a small tree, so the check of this rule stands with the command line's.
    ///
    /// ## Fix
    ///
    /// Give the file back its permissions, or copy into the tree what a link leads to.
    "unreadable-file", Reading, Error => pub(super) UNREADABLE_FILE
}

rule! {
    /// A file looks like a source but stands where none is read.
    ///
    /// ## At the bench
    ///
    /// A misspelt `tool.toml` would leave the shop without its tools, and nobody would know why.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === tool.toml
    /// [tool.wrench-13]
    /// name = "13 mm wrench"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name or move it as the format says; a procedure stands in a folder: `fuel/float-bowl.md`.
    "unread-file", Reading, Advice => pub(super) UNREAD_FILE
}

rule! {
    /// A figure is not what its ending says.
    ///
    /// ## At the bench
    ///
    /// The sheet would have an empty frame, or could not be set at all.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/cover.png
    /// This is no drawing.
    /// ```
    ///
    /// ## Fix
    ///
    /// Export it again as SVG, PNG or JPEG.
    "broken-figure", Reading, Error => pub(super) BROKEN_FIGURE
}
