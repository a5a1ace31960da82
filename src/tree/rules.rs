//! The rules that reading files can report.

use crate::finding::{Rule, rule};

/// The rules of this stage.
pub(crate) static RULES: [&Rule; 6] = [
    &BROKEN_FIGURE,
    &NO_PROCEDURES,
    &NOT_UTF8,
    &UNREADABLE_FILE,
    &IGNORED_FILE,
    &UNPRINTABLE_FIGURE,
];

rule! {
    /// The sources folder contains no procedures.
    ///
    /// ## At the bench
    ///
    /// Nothing would be printed, as if there were no work to do.
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
    /// Name the folder that contains `shop.toml`, or write the first procedure.
    "no-procedures", Reading, Error => pub(super) NO_PROCEDURES
}

rule! {
    /// A file contains bytes that are not UTF-8 text.
    ///
    /// ## At the bench
    ///
    /// The unreadable character may be a degree sign or a ±, so the value that contains it can't be
    /// trusted.
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
    /// A file or folder of the sources can't be read.
    ///
    /// ## At the bench
    ///
    /// A sheet that is made without the file would lack its contents.
    ///
    /// ## Example
    ///
    /// A file without read permission, or a link that leads outside the sources folder or in a circle.
    /// Text sources can't show these; tests of the command line check this rule.
    ///
    /// ## Fix
    ///
    /// Restore the file's permissions, or replace the link with a copy of the file.
    "unreadable-file", Reading, Error => pub(super) UNREADABLE_FILE
}

rule! {
    /// A file is in the sources folder, but is neither a source nor a figure.
    ///
    /// ## At the bench
    ///
    /// With a misspelt `tool.toml`, the shop would have no tools, and nothing would say why.
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
    /// Rename or move it as the format says. A procedure belongs in a folder: `fuel/float-bowl.md`. Other files, such
    /// as notes and photographs, belong in another folder; hidden files, and files in capital letters such as
    /// `README.txt`, are ignored.
    "ignored-file", Reading, Advice => pub(super) IGNORED_FILE
}

rule! {
    /// A figure's contents do not match its file extension, or are damaged.
    ///
    /// ## At the bench
    ///
    /// The sheet would have an empty frame, or its PDF could not be made.
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

rule! {
    /// A figure is complete, but can't be printed.
    ///
    /// It has no size or too many pixels, is so long and narrow that only a line would be left of it, has a coding that
    /// the typesetter can't read, refers to another file, or has text in characters that no font has.
    ///
    /// ## At the bench
    ///
    /// The sheet has no PDF, or the mechanic looks for the part on a figure that shows nothing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/cover.svg
    /// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4000 10">
    /// <path d="M0 5h4000" stroke="black"/>
    /// </svg>
    /// ```
    ///
    /// ## Fix
    ///
    /// Crop it or scale it down, embed the pictures that it refers to, or convert its text to paths.
    "unprintable-figure", Reading, Error => pub(super) UNPRINTABLE_FIGURE
}
