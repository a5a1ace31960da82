//! The small shop that a new author begins with: four files that check clean, with comments that teach.

use super::mark::toml_text;
use super::new_files::NewFile;
use crate::words::{self, Words};

/// Which units are printed, and in which order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum UnitChoice {
    Metric,
    MetricInch,
    InchMetric,
    Inch,
}

impl UnitChoice {
    pub(crate) const ALL: [UnitChoice; 4] = [
        UnitChoice::Metric,
        UnitChoice::MetricInch,
        UnitChoice::InchMetric,
        UnitChoice::Inch,
    ];

    /// The name on the command line.
    #[must_use]
    pub(crate) fn name(self) -> &'static str {
        match self {
            UnitChoice::Metric => "metric",
            UnitChoice::MetricInch => "metric-inch",
            UnitChoice::InchMetric => "inch-metric",
            UnitChoice::Inch => "inch",
        }
    }
}

/// What `gal` alone means. `Unsaid` leaves it an error, so that authors write `US gal` or `imp gal`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum GallonChoice {
    Us,
    Imperial,
    Both,
    Unsaid,
}

impl GallonChoice {
    pub(crate) const ALL: [GallonChoice; 4] = [
        GallonChoice::Us,
        GallonChoice::Imperial,
        GallonChoice::Both,
        GallonChoice::Unsaid,
    ];

    /// The name on the command line.
    #[must_use]
    pub(crate) fn name(self) -> &'static str {
        match self {
            GallonChoice::Us => "us",
            GallonChoice::Imperial => "imperial",
            GallonChoice::Both => "both",
            GallonChoice::Unsaid => "none",
        }
    }

    /// The line of `shop.toml`.
    fn line(self) -> &'static str {
        match self {
            GallonChoice::Us => "gallons = \"us\"",
            GallonChoice::Imperial => "gallons = \"imperial\"",
            GallonChoice::Both => "gallons = [\"us\", \"imperial\"]",
            GallonChoice::Unsaid => "# gallons = \"us\"",
        }
    }
}

/// The sizes of paper, as `shop.toml` names them.
pub(crate) const PAPERS: [&str; 2] = ["A4", "Letter"];

/// What a new shop is like.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct NewShop {
    pub(crate) name: String,
    /// The tag of a language that there are words for.
    pub(crate) language: &'static str,
    /// One of [`PAPERS`].
    pub(crate) paper: &'static str,
    pub(crate) units: UnitChoice,
    pub(crate) gallons: GallonChoice,
}

impl NewShop {
    /// What is usual for a language.
    #[must_use]
    pub(crate) fn usual(language: &'static str) -> NewShop {
        let words = words_of(language);
        let usual = |key: &str| words.source(key, &[]);
        let paper = usual("start-paper");
        let (units, gallons) = (usual("start-units"), usual("start-gallons"));
        let known_paper = PAPERS.into_iter().find(|known| *known == paper);
        let mut all_units = UnitChoice::ALL.into_iter();
        let mut all_gallons = GallonChoice::ALL.into_iter();
        NewShop {
            name: usual("start-name"),
            language,
            paper: known_paper.unwrap_or(PAPERS[0]),
            units: all_units
                .find(|known| known.name() == units)
                .unwrap_or(UnitChoice::MetricInch),
            gallons: all_gallons
                .find(|known| known.name() == gallons)
                .unwrap_or(GallonChoice::Unsaid),
        }
    }

    /// The files of the shop.
    #[must_use]
    pub(crate) fn files(&self) -> Vec<NewFile> {
        let words = words_of(self.language);
        let source = |key: &str| words.source(key, &[]);
        let shop = words.source(
            "start-shop",
            &[
                ("name", &toml_text(&self.name)),
                ("language", &toml_text(self.language)),
                ("paper", &toml_text(self.paper)),
                ("gallons", self.gallons.line()),
                ("units", &self.unit_lines()),
            ],
        );
        let files = [
            ("shop.toml".to_owned(), shop),
            ("tools.toml".to_owned(), source("start-tools")),
            (
                format!("machines/{}.toml", self.machine()),
                source("start-machine-file"),
            ),
            (
                format!("{}.md", source("start-procedure")),
                source("start-procedure-file"),
            ),
        ];
        let files = files.into_iter();
        files.map(|(path, text)| NewFile { path, text }).collect()
    }

    /// The id of its machine.
    fn machine(&self) -> String {
        words_of(self.language).source("start-machine", &[])
    }

    fn unit_lines(&self) -> String {
        let volume = match self.gallons {
            GallonChoice::Imperial => "imp fl oz",
            GallonChoice::Us | GallonChoice::Both | GallonChoice::Unsaid => "US fl oz",
        };
        let kinds: [(&str, &[&str], &[&str]); 4] = [
            ("torque", &["N·m"], &["ft·lbf", "in·lbf"]),
            ("length", &["mm"], &["in"]),
            ("volume", &["L"], &[volume]),
            ("pressure", &["bar"], &["psi"]),
        ];
        let lines = kinds.map(|(kind, metric, inch)| {
            let units: Vec<String> = match self.units {
                UnitChoice::Metric => [metric, &[]],
                UnitChoice::MetricInch => [metric, inch],
                UnitChoice::InchMetric => [inch, metric],
                UnitChoice::Inch => [inch, &[]],
            }
            .concat()
            .into_iter()
            .map(toml_text)
            .collect();
            format!("{kind} = [{}]", units.join(", "))
        });
        lines.join("\n")
    }
}

fn words_of(language: &str) -> &'static Words {
    Words::of(language).unwrap_or_else(|| Words::english())
}

/// The tags of the languages that a shop can begin in, the usual one first.
pub(crate) fn languages() -> impl Iterator<Item = &'static str> {
    words::languages()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tree::Memory;

    /// Whatever is chosen.
    #[test]
    fn a_new_shop_checks_clean_and_has_one_job() {
        for language in languages() {
            for (paper, units, gallons) in PAPERS.into_iter().flat_map(|paper| {
                let pairs = UnitChoice::ALL.into_iter();
                pairs
                    .flat_map(move |units| GallonChoice::ALL.map(|gallons| (paper, units, gallons)))
            }) {
                let shop = NewShop {
                    name: "Ana's \"workshop\" \\ # {x}".to_owned(),
                    paper,
                    units,
                    gallons,
                    ..NewShop::usual(language)
                };
                let files = shop.files();
                let world = files
                    .iter()
                    .map(|file| (file.path.as_str(), file.text.as_str()));
                let sources = crate::read(&Memory::new(world));
                let checked = crate::check(&sources);
                let found: Vec<&str> = checked
                    .findings
                    .iter()
                    .map(|it| it.message.as_str())
                    .collect();
                assert!(found.is_empty(), "{shop:?}: {found:?}");
                assert_eq!(checked.rehearsed, 1, "{shop:?}");
                assert_eq!(sources.shop.name, shop.name);
                assert_eq!(sources.shop.languages, [language]);
                assert!(sources.shop.machines.get(&shop.machine()).is_some());
            }
        }
    }

    #[test]
    fn the_choices_decide_what_is_printed() {
        let american = languages().find(|tag| tag.ends_with("US")).unwrap();
        let shop = NewShop::usual(american);
        assert_eq!((shop.paper, shop.units), ("Letter", UnitChoice::InchMetric));
        assert_eq!(shop.gallons, GallonChoice::Us);
        let text = &shop.files()[0].text;
        assert!(
            text.contains("torque = [\"ft·lbf\", \"in·lbf\", \"N·m\"]"),
            "{text}"
        );
        assert!(text.contains("\ngallons = \"us\"\n"), "{text}");
        let usual = NewShop::usual(languages().next().unwrap());
        assert_eq!((usual.paper, usual.units), ("A4", UnitChoice::MetricInch));
        assert_eq!(usual.gallons, GallonChoice::Unsaid);
    }
}
