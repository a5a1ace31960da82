//! A shop's own look: the files that override or extend the built-in templates.

use super::templates;
use crate::cache::Fingerprint;
use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

/// The files with which a shop overrides or extends the built-in templates. Empty by default.
///
/// The folder is laid out like `templates/`. Templates in `html/` and `typst/` replace the built-in
/// ones of the same name. `html/shop.css` is appended to our style sheet, and `typst/shop.typ` overrides
/// layout settings. There can also be a `logo.svg`, `logo.png` or `logo.jpg`, and a `words.toml`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Look {
    folder: PathBuf,
    html: BTreeMap<String, String>,
    typst: BTreeMap<String, String>,
    logo: Option<Logo>,
    words: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Logo {
    /// File name, such as `logo.svg`.
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

/// Why a shop's look can't be used.
#[derive(Debug)]
pub(crate) enum LookError {
    Io(PathBuf, std::io::Error),
    /// A file has the name of no built-in template, perhaps by a typing error. The text is the nearest
    /// name.
    NoSuchTemplate(PathBuf, Option<String>),
    /// The content of the logo does not have the format of its extension.
    Logo(PathBuf),
    /// A file would replace a template that must not change: see [`FIXED`].
    Fixed(PathBuf),
}

impl fmt::Display for LookError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LookError::Io(path, error) => write!(f, "`{}`: {error}", path.display()),
            LookError::NoSuchTemplate(path, near) => {
                write!(f, "`{}` matches no template", path.display())?;
                match near {
                    Some(near) => write!(f, "; did you mean `{near}`?"),
                    None => Ok(()),
                }
            }
            LookError::Fixed(path) => write!(
                f,
                "`{}` would replace the notices, which every sheet must carry",
                path.display()
            ),
            LookError::Logo(path) => {
                write!(f, "`{}` does not match its file extension", path.display())
            }
        }
    }
}

impl std::error::Error for LookError {}

/// Templates that a shop can't replace: the notices, which every sheet must have, and the typst
/// templates that check for them.
const FIXED: [&str; 5] = [
    "notices.html",
    "notices.typ",
    "main.typ",
    "manual.typ",
    "precedence.typ",
];

const LOGOS: [&str; 4] = ["logo.svg", "logo.png", "logo.jpg", "logo.jpeg"];

impl Look {
    /// Reads a shop's look from a folder. A missing folder is not an error.
    ///
    /// # Errors
    ///
    /// If a file can't be read, has the name of no template, or must not be replaced, or if the logo's
    /// content does not match its extension.
    pub(crate) fn read(folder: &Path) -> Result<Look, LookError> {
        let mut look = Look {
            folder: folder.to_owned(),
            html: read_folder(&folder.join("html"), templates::HTML)?,
            typst: read_folder(&folder.join("typst"), templates::TYPST)?,
            ..Look::default()
        };
        let words = folder.join("words.toml");
        if words.is_file() {
            look.words = Some(read_text(&words)?);
        }
        for name in LOGOS {
            let path = folder.join(name);
            if path.is_file() && look.logo.is_none() {
                let bytes = fs::read(&path).map_err(|error| LookError::Io(path.clone(), error))?;
                if !is_picture(name, &bytes) {
                    return Err(LookError::Logo(path));
                }
                look.logo = Some(Logo {
                    name: name.to_owned(),
                    bytes,
                });
            }
        }
        // An unchanged copy of a built-in template overrides nothing.
        look.html
            .retain(|name, text| built_in(templates::HTML, name) != Some(text));
        look.typst
            .retain(|name, text| built_in(templates::TYPST, name) != Some(text));
        Ok(look)
    }

    /// Whether the folder still has the same content.
    #[must_use]
    pub(crate) fn is_current(&self) -> bool {
        Look::read(&self.folder).is_ok_and(|look| look == *self)
    }

    /// Whether the shop has page templates, scripts or a style sheet of its own.
    pub(super) fn has_own_pages(&self) -> bool {
        !self.html.is_empty()
    }

    /// Whether the shop has typst templates of its own. Settings are none: they set no text.
    pub(super) fn has_own_prints(&self) -> bool {
        self.typst.keys().any(|name| name != "shop.typ")
    }

    /// The content of the shop's `words.toml`.
    #[must_use]
    pub(crate) fn words(&self) -> Option<&str> {
        self.words.as_deref()
    }

    /// The path of `words.toml`, for error messages.
    #[must_use]
    pub(crate) fn words_path(&self) -> PathBuf {
        self.folder.join("words.toml")
    }

    /// The logo's path in the output, and its bytes.
    #[must_use]
    pub(crate) fn logo(&self) -> Option<(String, &[u8])> {
        let logo = self.logo.as_ref()?;
        let content = Fingerprint::of_bytes(&logo.bytes).short();
        let extension = logo.name.rsplit('.').next()?;
        Some((format!("figures/logo-{content}.{extension}"), &logo.bytes))
    }

    /// The texts of all templates and signs that a PDF's bytes depend on, to be hashed in this order. The
    /// sheet, its words, its figures and typst's version are not included.
    #[must_use]
    pub(crate) fn design(&self) -> Vec<&str> {
        let signs = templates::SIGNS.iter().copied();
        let files = self.typst().into_iter().chain(signs);
        files.flat_map(|(name, text)| [name, text]).collect()
    }

    /// The texts of all templates and signs that a page's HTML depends on, to be hashed in this order. The
    /// page's data, words and figures are not included.
    #[must_use]
    pub(crate) fn page_design(&self) -> Vec<&str> {
        let drawings = templates::SIGNS.iter().chain(templates::ICONS).copied();
        let files = self.html().into_iter().chain(drawings);
        files.flat_map(|(name, text)| [name, text]).collect()
    }

    /// The page templates as name and text, with the shop's overrides.
    pub(super) fn html(&self) -> Vec<(&str, &str)> {
        with_overrides(templates::HTML, &self.html)
    }

    /// The sheet templates as name and text, with the shop's overrides.
    pub(super) fn typst(&self) -> Vec<(&str, &str)> {
        with_overrides(templates::TYPST, &self.typst)
    }

    /// Replaces the name of each of the shop's own templates in an error message by its path.
    pub(super) fn with_paths(&self, message: &str) -> String {
        let folders = [("html", &self.html), ("typst", &self.typst)];
        let templates = folders
            .into_iter()
            .flat_map(|(folder, templates)| templates.keys().map(move |name| (folder, name)));
        let mut message = message.to_owned();
        for (folder, name) in templates {
            let path = self.folder.join(folder).join(name).display().to_string();
            message = message.replace(name.as_str(), &path);
        }
        message
    }
}

fn built_in(table: &'static [templates::Template], name: &str) -> Option<&'static str> {
    let template = table.iter().find(|(template, _)| *template == name);
    template.map(|(_, text)| *text)
}

fn with_overrides<'l>(
    table: &'static [templates::Template],
    overrides: &'l BTreeMap<String, String>,
) -> Vec<(&'l str, &'l str)> {
    let templates = table.iter();
    templates
        .map(|(name, text)| (*name, overrides.get(*name).map_or(*text, String::as_str)))
        .collect()
}

fn read_folder(
    folder: &Path,
    table: &[templates::Template],
) -> Result<BTreeMap<String, String>, LookError> {
    let mut texts = BTreeMap::new();
    if !folder.is_dir() {
        return Ok(texts);
    }
    let io_error = |error| LookError::Io(folder.to_owned(), error);
    for entry in fs::read_dir(folder).map_err(io_error)? {
        let path = entry.map_err(io_error)?.path();
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
            continue;
        };
        // Backup and hidden files of editors and file browsers.
        if name.starts_with('.') || name.ends_with('~') || path.is_dir() {
            continue;
        }
        let Some((_, built_in)) = table.iter().find(|(template, _)| *template == name) else {
            let templates = table.iter().map(|(template, _)| *template);
            let near = crate::finding::nearest(name, templates).map(|near| near.name.to_owned());
            return Err(LookError::NoSuchTemplate(path, near));
        };
        let text = read_text(&path)?;
        if FIXED.contains(&name) && text != *built_in {
            return Err(LookError::Fixed(path));
        }
        texts.insert(name.to_owned(), text);
    }
    Ok(texts)
}

fn read_text(path: &Path) -> Result<String, LookError> {
    fs::read_to_string(path).map_err(|error| LookError::Io(path.to_owned(), error))
}

/// Whether the content of an image has the format that its extension names.
fn is_picture(name: &str, bytes: &[u8]) -> bool {
    match name.rsplit('.').next() {
        Some("png") => bytes.starts_with(b"\x89PNG\r\n\x1a\n"),
        Some("svg") => std::str::from_utf8(bytes).is_ok_and(|text| text.contains("<svg")),
        _ => bytes.starts_with(b"\xff\xd8\xff"),
    }
}
