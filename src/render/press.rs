//! Sets leaves and manuals as PDFs with the typst program, one process a PDF.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Component, Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};

use serde::Serialize;
use tempfile::TempDir;

use super::typst::Typst;
use super::{Look, RenderError, qr, templates};
use crate::manual::Manual;
use crate::page::Leaf;
use crate::words::Words;

/// Environment variables that would change what typst does behind our back.
const UNSET: [&str; 7] = [
    "SOURCE_DATE_EPOCH",
    "TYPST_FEATURES",
    "TYPST_FONT_PATHS",
    "TYPST_IGNORE_EMBEDDED_FONTS",
    "TYPST_PACKAGE_CACHE_PATH",
    "TYPST_PACKAGE_PATH",
    "TYPST_ROOT",
];

/// Every face that the leaf templates use. The condensed cut keeps the wide
/// face's tall letters and gets a third more onto a line; the upright mono is
/// for what is engraved or typed.
fn fonts() -> [(&'static str, &'static [u8]); 6] {
    use dejavu::{sans_condensed, sans_mono};
    [
        ("condensed.ttf", sans_condensed::regular()),
        ("condensed-bold.ttf", sans_condensed::bold()),
        ("condensed-oblique.ttf", sans_condensed::oblique()),
        ("condensed-bold-oblique.ttf", sans_condensed::bold_oblique()),
        ("mono.ttf", sans_mono::regular()),
        ("mono-bold.ttf", sans_mono::bold()),
    ]
}

/// What a leaf template reads.
#[derive(Serialize)]
struct Copy<'a> {
    leaf: &'a Leaf,
    words: &'a BTreeMap<String, String>,
    /// The address as a QR code, drawn.
    qr: Option<String>,
}

/// What the manual's template reads.
#[derive(Serialize)]
struct Volume<'a> {
    manual: &'a Manual,
    words: &'a BTreeMap<String, String>,
}

/// What is set: by which template, as what, of which day.
struct Sheet<'a> {
    entry: &'static str,
    /// Whether a reference is silent about the page that it stands on, or names `all` pages.
    pages: &'static str,
    path: &'a str,
    revised: Option<&'a str>,
}

/// A PDF, and what typst said of it.
struct Compiled {
    pdf: Vec<u8>,
    /// Whether all page numbers came to rest.
    settled: bool,
    said: String,
}

/// By this typst says that page numbers did not come to rest.
const UNSETTLED: &str = "did not converge";

/// A work folder with the templates, fonts and figures laid out, ready to set
/// any number of leaves, from several threads if need be.
///
/// The folder goes when the press does.
#[derive(Debug)]
pub struct Press {
    typst: Typst,
    folder: TempDir,
    look: Look,
    /// How many leaves were begun: names each one's file.
    begun: AtomicU64,
}

impl Press {
    /// Lays out a work folder. `figures` are the figures of all leaves to
    /// come, each with its [`Figure::path`](crate::page::Figure::path).
    ///
    /// # Errors
    ///
    /// When the folder can't be made or written, or when a figure's path
    /// would lead out of it.
    pub fn new<'a>(
        typst: Typst,
        look: &Look,
        figures: impl Iterator<Item = (&'a str, &'a [u8])>,
    ) -> Result<Press, RenderError> {
        let folder = tempfile::Builder::new()
            .prefix("benchleaf-")
            .tempdir()
            .map_err(|why| RenderError::Io {
                path: std::env::temp_dir(),
                why,
            })?;
        let root = folder.path();
        for (name, text) in look.typst() {
            write(&root.join(name), text.as_bytes())?;
        }
        for (name, text) in templates::SIGNS {
            write(&root.join("signs").join(name), text.as_bytes())?;
        }
        for (name, bytes) in fonts() {
            write(&root.join("fonts").join(name), bytes)?;
        }
        for (path, bytes) in figures {
            write(&root.join(inside(path)?), bytes)?;
        }
        Ok(Press {
            typst,
            folder,
            look: look.clone(),
            begun: AtomicU64::new(0),
        })
    }

    /// Sets one leaf and returns the PDF.
    ///
    /// # Errors
    ///
    /// When typst can't be started, or finds fault with the leaf: a figure
    /// that is missing or broken, a letter that our fonts lack.
    pub fn set(&self, leaf: &Leaf, words: &Words) -> Result<Vec<u8>, RenderError> {
        let copy = Copy {
            leaf,
            words: words.all(),
            qr: leaf.head.address.as_deref().and_then(qr::qr),
        };
        let sheet = Sheet {
            entry: "main.typ",
            pages: "quiet",
            path: &leaf.head.path,
            revised: leaf.head.revised.as_deref(),
        };
        Ok(self.compile(&sheet, &copy)?.pdf)
    }

    /// Sets a bound manual and returns the PDF.
    ///
    /// # Errors
    ///
    /// As for a leaf; and when its page numbers never settle.
    pub fn set_manual(&self, manual: &Manual, words: &Words) -> Result<Vec<u8>, RenderError> {
        let mut sheet = Sheet {
            entry: "manual.typ",
            pages: "quiet",
            path: &manual.head.path,
            revised: manual.head.revised.as_deref(),
        };
        let volume = Volume {
            manual,
            words: words.all(),
        };
        let mut made = self.compile(&sheet, &volume)?;
        // A reference is silent about its own page. One at the very foot of a page can make its
        // place leap between two pages by that, for as long as one looks: it is made to speak.
        if !made.settled {
            sheet.pages = "all";
            made = self.compile(&sheet, &volume)?;
        }
        if made.settled {
            Ok(made.pdf)
        } else {
            Err(RenderError::Setting {
                leaf: manual.head.path.clone(),
                said: made.said,
            })
        }
    }

    /// Has typst set what is handed to it as JSON.
    fn compile(&self, sheet: &Sheet<'_>, copy: &impl Serialize) -> Result<Compiled, RenderError> {
        let json = serde_json::to_vec(copy).map_err(|why| RenderError::Leaf {
            leaf: sheet.path.to_owned(),
            why,
        })?;
        let name = format!("leaf-{}.json", self.begun.fetch_add(1, Ordering::Relaxed));
        let root = self.folder.path();
        let file = root.join(&name);
        write(&file, &json)?;
        let revised = sheet.revised.and_then(midnight);
        let mut command = Command::new(self.typst.path());
        for name in UNSET {
            command.env_remove(name);
        }
        let output = command
            .arg("compile")
            .arg("--root")
            .arg(root)
            .arg("--font-path")
            .arg(root.join("fonts"))
            .args(["--ignore-system-fonts", "--pdf-standard", "ua-1"])
            .args(["--creation-timestamp", &revised.unwrap_or(0).to_string()])
            .args(["--input", &format!("leaf=/{name}")])
            .args(["--input", &format!("pages={}", sheet.pages)])
            .args(["--format", "pdf"])
            .arg(root.join(sheet.entry))
            // To standard output: nothing to clean up when it fails.
            .arg("-")
            .stdin(Stdio::null())
            .output()
            .map_err(|why| RenderError::Io {
                path: self.typst.path().to_owned(),
                why,
            })?;
        // Left where it is when it can't be removed: it goes with the folder.
        let _ = fs::remove_file(&file);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        if output.status.success() {
            return Ok(Compiled {
                pdf: output.stdout,
                settled: !said.contains(UNSETTLED),
                said,
            });
        }
        let leaf = sheet.path.to_owned();
        let texts = undisplayed(&said);
        Err(if texts.is_empty() {
            RenderError::Setting {
                leaf,
                said: self.look.with_paths(&said),
            }
        } else {
            RenderError::Letters { leaf, texts }
        })
    }
}

/// The texts of which typst said that no font has their letters. It says so at
/// every place on the leaf; to the shop it is one fault each.
fn undisplayed(said: &str) -> Vec<String> {
    let mut texts: Vec<String> = said
        .lines()
        .filter_map(|line| {
            let (_, rest) = line.split_once("the text `\"")?;
            let (text, _) = rest.split_once("\"` could not be displayed")?;
            Some(text.to_owned())
        })
        .collect();
    texts.sort();
    texts.dedup();
    texts
}

/// Writes a file, and its folder where there is none.
fn write(path: &Path, bytes: &[u8]) -> Result<(), RenderError> {
    let failed = |why| RenderError::Io {
        path: path.to_owned(),
        why,
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(failed)?;
    }
    fs::write(path, bytes).map_err(failed)
}

/// A figure's path, once it is sure that it stays inside of the folder that
/// it is joined to.
fn inside(path: &str) -> Result<PathBuf, RenderError> {
    let parts: Vec<Component> = Path::new(path).components().collect();
    let stays = |part: &Component| matches!(part, Component::Normal(_));
    if parts.is_empty() || !parts.iter().all(stays) {
        return Err(RenderError::FigurePath {
            path: path.to_owned(),
        });
    }
    Ok(parts.iter().collect())
}

/// The Unix time at which a day `YYYY-MM-DD` begins; nothing for another text.
///
/// Days are counted in the proleptic Gregorian calendar, with a year that
/// begins in March, so that the leap day is a year's last.
fn midnight(day: &str) -> Option<i64> {
    let mut numbers = day.splitn(3, '-').map(str::parse::<i64>);
    let mut next = || numbers.next()?.ok();
    let (year, month, day) = (next()?, next()?, next()?);
    if !(1..=9999).contains(&year) || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let (year, month) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let before_month = (153 * month + 2) / 5;
    let before_year = 365 * year + year / 4 - year / 100 + year / 400;
    // 719 468 days from the first of March of the year 0 to the first of
    // January 1970.
    Some((before_year + before_month + day - 1 - 719_468) * 86_400)
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;
    use crate::page::{Block, LeafKind};

    /// The typst of this working copy. It must be there: a test that skips
    /// what it can't do says nothing.
    fn typst() -> Typst {
        let variable = std::env::var_os("BENCHLEAF_TYPST");
        let beside = Path::new(env!("CARGO_MANIFEST_DIR"));
        Typst::find(None, variable.as_deref(), beside)
            .unwrap_or_else(|error| panic!("{error}; {}", error.help()))
    }

    fn press() -> Press {
        let figures = [(sample::FIGURE, sample::DRAWING.as_bytes())];
        Press::new(typst(), &Look::default(), figures.into_iter())
            .expect("the work folder can be laid out")
    }

    fn set(leaf: &Leaf) -> Vec<u8> {
        press()
            .set(leaf, Words::english())
            .unwrap_or_else(|error| panic!("{error}"))
    }

    /// What stands on a PDF's pages, in the order in which it is written
    /// there. Without `-raw`, poppler guesses at columns.
    fn text_of(pdf: &[u8]) -> String {
        let folder = TempDir::new().expect("a folder for the test");
        let file = folder.path().join("leaf.pdf");
        fs::write(&file, pdf).expect("written");
        let output = Command::new("pdftotext")
            .args(["-raw", "-enc", "UTF-8"])
            .arg(&file)
            .arg("-")
            .output()
            .expect("pdftotext is installed (poppler-utils)");
        assert!(output.status.success());
        String::from_utf8(output.stdout).expect("pdftotext writes UTF-8")
    }

    /// A text with any white space made a single space.
    fn flat(text: &str) -> String {
        text.replace('\u{a0}', " ")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// A manual of two chapters, the second with references to both.
    fn manual() -> Manual {
        use crate::manual::{Chapter, ManualHead, Piece};
        use crate::page::{Run, Target};
        let head = sample::bare(LeafKind::ShopSheet).head;
        let heading = |level, title: &str| Piece::Heading {
            level,
            listed: true,
            title: title.to_owned(),
            anchors: vec![title.to_lowercase()],
        };
        let refer = |anchor: &str| {
            let target = Target::Page {
                anchor: anchor.to_owned(),
            };
            let runs = vec![Run::text(" (page "), Run::text(")")];
            [Run::text(anchor), Run::Link { target, runs }, Run::Break]
        };
        let blocks = |blocks| Piece::Blocks {
            level: 3,
            marked: false,
            blocks,
        };
        let chapter = |pieces| Chapter {
            outer: "Fuel".to_owned(),
            inner: "Procedures".to_owned(),
            pieces,
        };
        let notices = Block::Notices {
            notices: vec!["The maker's instructions rule.".to_owned()],
        };
        Manual {
            head: ManualHead {
                title: "Shop manual".to_owned(),
                systems: Vec::new(),
                machines: vec!["Tarn T7 tiller".to_owned()],
                shop: head.shop,
                logo: None,
                language: head.language,
                paper: head.paper,
                data_note: head.data_note,
                revised: head.revised,
                mark: head.mark,
                entries: Vec::new(),
                path: "manual".to_owned(),
            },
            anchors: ["far", "near"].map(str::to_owned).into(),
            chapters: vec![
                chapter(vec![heading(1, "Far"), blocks(vec![notices])]),
                chapter(vec![
                    heading(1, "Near"),
                    blocks(vec![Block::Text {
                        runs: [refer("far"), refer("near")].concat(),
                    }]),
                ]),
            ],
        }
    }

    #[test]
    fn a_reference_is_silent_about_its_own_page_unless_all_are_asked_for() {
        let manual = manual();
        let (press, words) = (press(), Words::english());
        let quiet = press.set_manual(&manual, words).expect("sound");
        let quiet = flat(&text_of(&quiet));
        assert!(
            quiet.contains("far (page 2) near") && !quiet.contains("near (page"),
            "{quiet}"
        );
        let sheet = Sheet {
            entry: "manual.typ",
            pages: "all",
            path: "manual",
            revised: None,
        };
        let volume = Volume {
            manual: &manual,
            words: words.all(),
        };
        let all = press.compile(&sheet, &volume).expect("sound");
        assert!(all.settled);
        let all = flat(&text_of(&all.pdf));
        assert!(all.contains("far (page 2) near (page 4)"), "{all}");
    }

    /// A label that lies on another page whenever it is asked where it is: such is a reference that
    /// makes its own place leap.
    #[test]
    fn page_numbers_that_never_settle_are_noticed() {
        let press = press();
        let never = "#set document(title: [Never])\n\
            #context { let at = query(<leap>); \
            if at.len() > 0 and at.first().location().page() == 1 { pagebreak() } }\n\
            Here #metadata(none)<leap>";
        fs::write(press.folder.path().join("manual.typ"), never).expect("written");
        let made = press.set_manual(&manual(), Words::english()).map(|_| ());
        let said = made.expect_err("it never settles").to_string();
        assert!(said.contains(UNSETTLED), "{said}");
    }

    /// Leaves are set on as many threads as there are cores.
    #[test]
    fn a_press_is_shared_between_threads() {
        let press = press();
        let leaf = sample::bare(LeafKind::ShopSheet);
        let pdfs: Vec<Vec<u8>> = std::thread::scope(|scope| {
            let setting: Vec<_> = (0..4)
                .map(|_| scope.spawn(|| press.set(&leaf, Words::english()).expect("sound")))
                .collect();
            setting
                .into_iter()
                .map(|thread| thread.join().expect("it does not panic"))
                .collect()
        });
        assert!(pdfs.windows(2).all(|pair| pair[0] == pair[1]));
    }

    #[test]
    fn both_kinds_are_set() {
        for leaf in [sample::shop_sheet(), sample::checklist()] {
            assert!(set(&leaf).starts_with(b"%PDF-"));
        }
    }

    /// On paper a page parts from its leaf: each must say whose it is.
    #[test]
    fn every_page_says_what_it_belongs_to() {
        for leaf in [sample::shop_sheet(), sample::checklist()] {
            let text = text_of(&set(&leaf));
            let pages: Vec<&str> = text.trim_end_matches('\u{c}').split('\u{c}').collect();
            assert!(pages.len() > 1);
            for (place, page) in pages.iter().enumerate() {
                let page = flat(page);
                for said in [
                    "Invented data for demonstration; not for use on any machine",
                    "Tarn T7 tiller · Governor linkage: free and reset",
                    "Revision 2 · mark 7f3a9c21",
                    &format!("Page {} of {}", place + 1, pages.len()),
                ] {
                    assert!(page.contains(said), "{said} is not on page {}", place + 1);
                }
            }
        }
    }

    #[test]
    fn a_checklist_of_twenty_two_steps_fits_a_sheet_of_paper() {
        let text = text_of(&set(&sample::checklist()));
        let pages: Vec<&str> = text.split_terminator('\u{c}').collect();
        assert_eq!(pages.len(), 2, "{}", pages[pages.len() - 1]);
    }

    #[test]
    fn steps_values_and_messages_are_read_in_order() {
        let sheet = [
            "3 Close the fuel tap.",
            "Governor rod sat in inner hole outer hole",
            "CAUTION The governor spring flies off. It can hit an eye.",
            "NOTICE The governor lever bends easily.",
            "6 Unhook the governor spring.",
            "13 Start both manifold nuts by hand",
            "5 N·m ± 1 N·m [(44 ± 8) lbf·in], 10 mm hex",
            "9 N·m ± 1 N·m [(80 ± 8) lbf·in], 10 mm hex, dry, crosswise",
            "17 Tighten the lever nut.",
            "[(45 to 53) lbf·in] unverified",
            "STOP Second mechanic signs before anyone goes on",
            "WARNING The tines turn as soon as the engine runs in gear.",
            "21 Run the engine to working heat.",
            "limits 3100 rpm ± 100 rpm",
            "Over: Turn the speed screw out.",
        ];
        let checklist = sheet.map(|said| said.trim_end_matches(" It can hit an eye."));
        for (leaf, expected) in [
            (sample::shop_sheet(), sheet),
            (sample::checklist(), checklist),
        ] {
            let text = flat(&text_of(&set(&leaf)));
            let mut from = 0;
            for said in expected {
                let place = text[from..].find(said);
                assert!(
                    place.is_some(),
                    "{said:?} is missing or too early in {text}"
                );
                from += place.unwrap_or_default();
            }
        }
    }

    #[test]
    fn long_and_bare_leaves_are_set() {
        for kind in LeafKind::ALL {
            set(&sample::long(kind));
            set(&sample::bare(kind));
        }
    }

    #[test]
    fn text_is_set_as_it_stands() {
        let hostile = "#panic() [*_$x$_*] `raw` \\u{41} <a> @b // = - + / \"q\" 'q' -- ~ ...";
        let text = text_of(&set(&sample::with_every_text(hostile)));
        assert!(flat(&text).contains(hostile), "{text}");
    }

    #[test]
    fn the_same_leaf_gives_the_same_bytes_from_any_press() {
        let leaf = sample::shop_sheet();
        let press = press();
        let first = press.set(&leaf, Words::english()).expect("sound");
        assert!(
            first == press.set(&leaf, Words::english()).expect("sound"),
            "twice from one press"
        );
        assert!(first == set(&leaf), "once from each of two presses");
    }

    #[test]
    fn a_missing_figure_is_an_error_that_names_leaf_and_file() {
        let press = Press::new(typst(), &Look::default(), std::iter::empty()).expect("laid out");
        let error = press
            .set(&sample::shop_sheet(), Words::english())
            .expect_err("no figure");
        let said = error.to_string();
        assert!(
            said.contains("tarn-t7/governor-linkage-shop-sheet"),
            "{said}"
        );
        assert!(said.contains("linkage-1a2b3c4d.svg"), "{said}");
    }

    #[test]
    fn letters_that_no_font_has_are_named_once() {
        let mut leaf = sample::shop_sheet();
        leaf.head.machine = Some("Tarn 耕".to_owned());
        "Tarn 耕".clone_into(&mut leaf.head.title);
        let error = press()
            .set(&leaf, Words::english())
            .expect_err("the fonts have no such letter");
        assert_eq!(
            error.to_string(),
            "the leaf `tarn-t7/governor-linkage-shop-sheet` has letters that the PDF's fonts \
             lack: `耕`"
        );
    }

    #[test]
    fn control_characters_and_empty_texts_are_set() {
        set(&sample::with_every_text("a\u{7}b\tc\nd\u{7f}"));
        let mut leaf = sample::with_every_text("");
        // PDF/UA asks for a title, and there is always one.
        "Governor".clone_into(&mut leaf.head.title);
        set(&leaf);
    }

    #[test]
    fn a_link_to_nowhere_is_only_text() {
        let mut leaf = sample::shop_sheet();
        // Without the sections, step 16 is no longer on the leaf.
        leaf.blocks.retain(
            |block| !matches!(block, Block::Section(section) if section.anchor == "put-back"),
        );
        set(&leaf);
    }

    #[test]
    fn a_figures_path_stays_in_the_folder() {
        for path in ["../x.svg", "/x.svg", "figures/../../x.svg", ""] {
            let figures = [(path, b"".as_slice())];
            let error = Press::new(typst(), &Look::default(), figures.into_iter())
                .expect_err("it leads out");
            assert!(matches!(error, RenderError::FigurePath { .. }), "{path}");
        }
    }

    #[test]
    fn a_day_begins_at_its_midnight() {
        assert_eq!(midnight("1970-01-01"), Some(0));
        assert_eq!(midnight("2000-02-29"), Some(951_782_400));
        assert_eq!(midnight("2026-10-02"), Some(1_790_899_200));
        for text in [
            "",
            "2026",
            "2026-13-01",
            "2026-00-10",
            "yesterday",
            "2026-10-02T00:00",
        ] {
            assert_eq!(midnight(text), None, "{text}");
        }
    }
}
