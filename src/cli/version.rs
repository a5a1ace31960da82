//! What `--version` prints.

use crate::render::Typst;
use std::env;
use std::path::Path;

/// The version of this program, and that of the typst program that PDFs are made with. `-V` prints the first line only.
///
/// Whoever asks for a version expects that nothing of the current folder runs. So a program that is found by a path
/// relative to it, in `.tools/bin` or on the search path, is named and not started.
pub(super) fn long() -> String {
    let own = format!("benchleaf {}", env!("CARGO_PKG_VERSION"));
    let variable = env::var_os("BENCHLEAF_TYPST");
    let search_path = env::var_os("PATH");
    let found = Typst::locate(
        None,
        variable.as_deref(),
        Path::new(""),
        search_path.as_deref(),
    );
    let typst = match found {
        None => "typst: not found in BENCHLEAF_TYPST, `.tools/bin` or PATH; PDFs can't be made"
            .to_owned(),
        Some(path) if path.is_relative() => {
            format!(
                "typst at `{}`, not started to ask for its version",
                path.display()
            )
        }
        Some(path) => match Typst::at(&path) {
            Ok(typst) => format!("typst {} at `{}`", typst.version(), path.display()),
            Err(error) => format!("{error}; PDFs can't be made"),
        },
    };
    format!("{own}\n{typst}\n")
}
