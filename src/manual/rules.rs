//! The appendix of a manual: the reference of the rules that its sources were checked by.

use super::book::{Chapter, ManualPiece};
use super::writer::{Book, chapter, heading};
use crate::finding::{Family, Rule};
use crate::page::{Block, LinkTarget, TextRun};
use crate::site::{RuleWriter, about_family, family_title, rules_of};
use crate::tree::without_glyph;
use crate::words::marks::is_mark;

impl Book<'_, '_> {
    /// A chapter for each family, so that a manual that is too large for one PDF can be divided between them.
    pub(super) fn rules(&self) -> Vec<Chapter> {
        let words = self.words();
        let writer = RuleWriter::new(self.shop, words);
        let part = self.word("rules-title");
        let with_rules = |family: &Family| !rules_of(*family).is_empty();
        let families = Family::ALL.into_iter().filter(with_rules);
        let mut chapters: Vec<Chapter> = families
            .map(|family| {
                let title = family_title(family, words);
                let mut pieces = vec![heading(2, title, []), text(about_family(family, words))];
                for rule in rules_of(family) {
                    pieces.push(name(&writer, rule));
                    pieces.push(blocks(printable(writer.blocks(rule))));
                }
                let inner = self.word("manual-title");
                Chapter {
                    has_columns: true,
                    ..chapter(
                        part.clone(),
                        part.clone(),
                        format!("{inner} · {title}"),
                        pieces,
                    )
                }
            })
            .collect();
        if let Some(first) = chapters.first_mut() {
            let intro = [
                heading(1, self.word("rules-appendix"), []),
                text(words.get("rules-intro")),
            ];
            first.pieces.splice(0..0, intro);
        }
        chapters
    }
}

/// Replaces the letters of examples that no font of a PDF has. One rule is about these letters.
fn printable(mut blocks: Vec<Block>) -> Vec<Block> {
    for block in &mut blocks {
        if let Block::Listing(listing) = block {
            let missing = without_glyph(&listing.text).into_iter();
            for letter in missing.filter(|letter| !is_mark(*letter)) {
                listing.text = listing.text.replace(letter, "\u{fffd}");
            }
        }
    }
    blocks
}

/// The heading of a rule, with its level. The contents would be long with all rules; the bookmarks have them.
fn name(writer: &RuleWriter<'_>, rule: &Rule) -> ManualPiece {
    ManualPiece::Heading {
        level: 3,
        listed: false,
        title: format!("{} ({})", writer.name(rule), writer.level(rule)),
        places: vec![LinkTarget::rule(rule)],
    }
}

fn text(text: &str) -> ManualPiece {
    blocks(vec![Block::Text {
        runs: vec![TextRun::text(text)],
    }])
}

fn blocks(blocks: Vec<Block>) -> ManualPiece {
    ManualPiece::Blocks {
        level: 4,
        marked: false,
        about: None,
        blocks,
    }
}
