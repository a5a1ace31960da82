//! A shop's own look: what it lays over the built-in templates.

use super::templates;
use crate::cache::Fingerprint;
use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

/// What a shop lays over the built-in templates; nothing by default.
///
/// Its folder has the shape of ours: `html/` and `typst/` with templates that take the place of
/// those of the same name, `html/shop.css` after our style sheet, `typst/shop.typ` with what the
/// shop sets otherwise, `logo.svg`, `logo.png` or `logo.jpg`, and `words.toml`.
#[derive(Clone, Debug, Default)]
pub(crate) struct Look {
    folder: PathBuf,
    html: BTreeMap<String, String>,
    typst: BTreeMap<String, String>,
    logo: Option<Logo>,
    words: Option<String>,
}

/// A shop's logo.
#[derive(Clone, Debug)]
pub(super) struct Logo {
    /// `logo.svg`.
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

/// Why a shop's look can't be taken over.
#[derive(Debug)]
pub(crate) enum LookError {
    /// A file can't be read.
    Io(PathBuf, std::io::Error),
    /// A file takes the place of nothing: a slip in its name, perhaps; the nearest name there is.
    NoSuchTemplate(PathBuf, Option<String>),
    /// The logo could not be drawn into a PDF.
    Logo(PathBuf),
    /// A file would take the place of what every sheet must say.
    Fixed(PathBuf),
}

impl fmt::Display for LookError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LookError::Io(path, why) => write!(f, "`{}`: {why}", path.display()),
            LookError::NoSuchTemplate(path, near) => {
                write!(f, "`{}` takes the place of no template", path.display())?;
                match near {
                    Some(near) => write!(f, "; did you mean `{near}`?"),
                    None => Ok(()),
                }
            }
            LookError::Fixed(path) => write!(
                f,
                "`{}` would take the place of the notices, which every leaf has to carry",
                path.display()
            ),
            LookError::Logo(path) => {
                write!(f, "`{}` is not the picture its name says", path.display())
            }
        }
    }
}

impl std::error::Error for LookError {}

/// What a shop can't replace: the notices, and the frame that looks for them.
const FIXED: [&str; 4] = ["notices.html", "notices.typ", "main.typ", "manual.typ"];

const LOGOS: [&str; 4] = ["logo.svg", "logo.png", "logo.jpg", "logo.jpeg"];

impl Look {
    /// Reads a shop's look from its folder; that there is none is no error.
    ///
    /// # Errors
    ///
    /// When a file can't be read, or has a name that nothing answers to.
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
                let bytes = fs::read(&path).map_err(|why| LookError::Io(path.clone(), why))?;
                if !is_picture(name, &bytes) {
                    return Err(LookError::Logo(path));
                }
                look.logo = Some(Logo {
                    name: name.to_owned(),
                    bytes,
                });
            }
        }
        // Ours, laid beside our own tree, changes nothing.
        look.html
            .retain(|name, text| built_in(templates::HTML, name) != Some(text));
        look.typst
            .retain(|name, text| built_in(templates::TYPST, name) != Some(text));
        Ok(look)
    }

    /// The shop's own words, as its file has them.
    #[must_use]
    pub(crate) fn words(&self) -> Option<&str> {
        self.words.as_deref()
    }

    /// The file of the shop's own words, to be named where it has a fault.
    #[must_use]
    pub(crate) fn words_path(&self) -> PathBuf {
        self.folder.join("words.toml")
    }

    /// The logo's place in the output, and its bytes.
    #[must_use]
    pub(crate) fn logo(&self) -> Option<(String, &[u8])> {
        let logo = self.logo.as_ref()?;
        let content = Fingerprint::of_bytes(&logo.bytes).short();
        let ending = logo.name.rsplit('.').next()?;
        Some((format!("figures/logo-{content}.{ending}"), &logo.bytes))
    }

    /// Everything besides a sheet, its words, its figures and typst itself that decides a PDF's
    /// bytes, as texts to be hashed in their order.
    #[must_use]
    pub(crate) fn design(&self) -> Vec<&str> {
        let signs = templates::SIGNS.iter().copied();
        let all = self.typst().into_iter().chain(signs);
        all.flat_map(|(name, text)| [name, text]).collect()
    }

    /// Everything besides a page's own data, its words and its figures that decides its HTML, as
    /// texts to be hashed in their order.
    #[must_use]
    pub(crate) fn page_design(&self) -> Vec<&str> {
        let signs = templates::SIGNS.iter().copied();
        let all = self.html().into_iter().chain(signs);
        all.flat_map(|(name, text)| [name, text]).collect()
    }

    /// The page templates.
    pub(super) fn html(&self) -> Vec<(&str, &str)> {
        laid_over(templates::HTML, &self.html)
    }

    /// The sheet templates.
    pub(super) fn typst(&self) -> Vec<(&str, &str)> {
        laid_over(templates::TYPST, &self.typst)
    }

    /// An account of a fault, with each template of the shop's own named by its path.
    pub(super) fn with_paths(&self, why: &str) -> String {
        let folders = [("html", &self.html), ("typst", &self.typst)];
        let own = folders
            .into_iter()
            .flat_map(|(folder, own)| own.keys().map(move |name| (folder, name)));
        let mut why = why.to_owned();
        for (folder, name) in own {
            let path = self.folder.join(folder).join(name).display().to_string();
            why = why.replace(name.as_str(), &path);
        }
        why
    }
}

fn built_in(table: &'static [templates::Template], name: &str) -> Option<&'static str> {
    let found = table.iter().find(|(known, _)| *known == name);
    found.map(|(_, text)| *text)
}

fn laid_over<'l>(
    table: &'static [templates::Template],
    own: &'l BTreeMap<String, String>,
) -> Vec<(&'l str, &'l str)> {
    let templates = table.iter();
    templates
        .map(|(name, text)| (*name, own.get(*name).map_or(*text, String::as_str)))
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
    let failed = |why| LookError::Io(folder.to_owned(), why);
    for entry in fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
            continue;
        };
        // What an editor or a file browser leaves behind is no template.
        if name.starts_with('.') || name.ends_with('~') || path.is_dir() {
            continue;
        }
        if !table.iter().any(|(known, _)| *known == name) {
            let known = table.iter().map(|(known, _)| *known);
            let near = crate::finding::nearest(name, known).map(str::to_owned);
            return Err(LookError::NoSuchTemplate(path, near));
        }
        let text = read_text(&path)?;
        let is_ours = table
            .iter()
            .any(|(known, ours)| *known == name && *ours == text);
        if FIXED.contains(&name) && !is_ours {
            return Err(LookError::Fixed(path));
        }
        texts.insert(name.to_owned(), text);
    }
    Ok(texts)
}

fn read_text(path: &Path) -> Result<String, LookError> {
    fs::read_to_string(path).map_err(|why| LookError::Io(path.to_owned(), why))
}

/// Whether a file begins as its ending says.
fn is_picture(name: &str, bytes: &[u8]) -> bool {
    match name.rsplit('.').next() {
        Some("png") => bytes.starts_with(b"\x89PNG\r\n\x1a\n"),
        Some("svg") => std::str::from_utf8(bytes).is_ok_and(|text| text.contains("<svg")),
        _ => bytes.starts_with(b"\xff\xd8\xff"),
    }
}
