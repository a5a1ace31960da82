//! The kinds of files in a tree. The path of a file decides its kind.

/// The kind of a source file. Its path decides it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SourceKind {
    /// `shop.toml`
    Shop,
    /// `tools.toml`
    Tools,
    /// `supplies.toml`
    Supplies,
    /// `cautions.toml`
    Cautions,
    /// `glossary.toml`
    Glossary,
    /// `log.toml`
    Log,
    /// `machines/<id>.toml`
    Machine {
        /// The machine's id.
        id: String,
    },
    /// `figures/<id>.toml`
    Figure {
        /// The figure's id.
        id: String,
    },
    /// `<system>/<id>.md`
    Procedure {
        /// The name of the folder, which is a chapter of the manual.
        system: String,
        /// The procedure's id.
        id: String,
    },
    /// `faults/<id>.md`
    Fault {
        /// The fault table's id.
        id: String,
    },
}

/// The kind of file that a path is for.
pub(super) enum PathKind {
    Source(SourceKind),
    Figure,
    /// Any other file, such as a README.
    Ignored,
    /// The file looks like a source, but its path is not that of a source.
    Unread,
}

pub(super) const ROOT_FILES: [&str; 6] = [
    "shop.toml",
    "tools.toml",
    "supplies.toml",
    "cautions.toml",
    "glossary.toml",
    "log.toml",
];

pub(super) fn path_kind(path: &str) -> PathKind {
    let (stem, extension) = path.rsplit_once('.').unwrap_or((path, ""));
    let extension = extension.to_ascii_lowercase();
    if matches!(extension.as_str(), "svg" | "png" | "jpg" | "jpeg") {
        return PathKind::Figure;
    }
    if path.rsplit('/').next() == Some("README.md") {
        return PathKind::Ignored;
    }
    let parts: Vec<&str> = stem.split('/').collect();
    match (parts.as_slice(), extension.as_str()) {
        (["shop"], "toml") => PathKind::Source(SourceKind::Shop),
        (["tools"], "toml") => PathKind::Source(SourceKind::Tools),
        (["supplies"], "toml") => PathKind::Source(SourceKind::Supplies),
        (["cautions"], "toml") => PathKind::Source(SourceKind::Cautions),
        (["glossary"], "toml") => PathKind::Source(SourceKind::Glossary),
        (["log"], "toml") => PathKind::Source(SourceKind::Log),
        (["machines", id], "toml") => PathKind::Source(SourceKind::Machine {
            id: (*id).to_owned(),
        }),
        (["figures", id], "toml") => PathKind::Source(SourceKind::Figure {
            id: (*id).to_owned(),
        }),
        (["faults", id], "md") => PathKind::Source(SourceKind::Fault {
            id: (*id).to_owned(),
        }),
        (["machines" | "figures" | "faults", ..], "md") => PathKind::Unread,
        ([system, id], "md") => PathKind::Source(SourceKind::Procedure {
            system: (*system).to_owned(),
            id: (*id).to_owned(),
        }),
        (_, "toml" | "md") => PathKind::Unread,
        _ => PathKind::Ignored,
    }
}

/// Whether a file with this path is read.
pub(super) fn is_read(path: &str) -> bool {
    matches!(path_kind(path), PathKind::Source(_) | PathKind::Figure)
}
