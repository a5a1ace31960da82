//! The rules that reading files can report.

use crate::finding::{Rule, rule};

/// The rules of this stage.
pub(crate) static RULES: [&Rule; 9] = [
    &BROKEN_FIGURE,
    &INVISIBLE_CHARACTER,
    &LOOK_ALIKE_PATHS,
    &NO_PROCEDURES,
    &NOT_UTF8,
    &UNREADABLE_FILE,
    &OVER_LIMIT,
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
    /// The text has a character that can't be seen and changes what is read.
    ///
    /// Refused are the controls of the direction of writing (U+061C, U+200E, U+200F, U+202A to U+202E and U+2066 to
    /// U+2069), all other control characters but tabs and ends of lines, separators of lines and paragraphs, and tags.
    /// Also refused are escapes and character references that stand for one, such as `\u202e` and `&#x202e;`.
    ///
    /// ## At the bench
    ///
    /// A control of direction prints `6M × 2` where the author wrote `2 × M6`.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.brush]
    /// name = "brush \u202e2 × M6"
    /// ```
    ///
    /// ## Fix
    ///
    /// Delete it. It often comes with text that is copied from a web page or a PDF.
    "invisible-character", Reading, Error => pub(super) INVISIBLE_CHARACTER
}

rule! {
    /// The names of two files or folders differ only in capitals, or in how their letters are encoded.
    ///
    /// ## At the bench
    ///
    /// On a computer that takes the two for one, one of them is lost when the sources are copied, and with it its
    /// sheets.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === Air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. Look at it.
    /// === air/cover-2.md
    /// +++
    /// title = "Cover plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. Look at it.
    /// ```
    ///
    /// ## Fix
    ///
    /// Rename one of the two, or join the folders.
    "look-alike-paths", Reading, Error => pub(super) LOOK_ALIKE_PATHS
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
    /// Something is larger, longer or nested deeper than benchleaf reads. The message names the limit.
    ///
    /// ## At the bench
    ///
    /// No real procedure comes near a limit. What does is a file of another kind, a slip such as a missing line
    /// break, or a program's output that went wrong; a sheet made of it could not be used.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [Look](inspect:cover) at *one **two *three **four *five **six *seven **eight *nine* eight** seven* six**
    ///    five* four** three* two** one*.
    /// ```
    ///
    /// ## Fix
    ///
    /// Split what is too long, and leave out what changes nothing.
    "over-limit", Reading, Error => pub(crate) OVER_LIMIT
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
