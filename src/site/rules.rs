//! The reference of the rules: a list of all rules by family, and a page for each family with the manual pages of its
//! rules.
//!
//! A page for each rule would be 160 files, of which the frame would be most; a family is a chapter that can be printed.

use super::rule_family::{about_family, family_title};
use super::rule_text::{RuleWriter, rules_of};
use super::{Link, PageKind, Site, SitePage, SitePart};
use crate::finding::Family;
use crate::page::{Block, PageId, SectionId, SheetSection, TextRun};

/// The pages of the rules: the list first, then each family.
#[must_use]
pub(crate) fn rules(site: &Site<'_, '_>) -> Vec<SitePage> {
    let writer = RuleWriter::new(site.shop, site.words());
    let families = Family::ALL.into_iter();
    let families = families.filter_map(|family| family_page(site, &writer, family));
    std::iter::once(list(site, &writer))
        .chain(families)
        .collect()
}

/// The rules by family.
fn list(site: &Site<'_, '_>, writer: &RuleWriter<'_>) -> SitePage {
    let words = site.words();
    let context = site.context();
    let columns = [("rule", 6), ("level", 3), ("what-it-finds", 12)];
    let sections = Family::ALL.into_iter().filter_map(|family| {
        let rules = rules_of(family);
        let rows = rules
            .into_iter()
            .map(|rule| writer.row(rule))
            .collect::<Vec<_>>();
        let title = family_title(family, words);
        (!rows.is_empty()).then(|| {
            Block::Section(SheetSection {
                id: SectionId::RuleFamily(family),
                title: title.to_owned(),
                from: None,
                blocks: vec![
                    text(about_family(family, words)),
                    context.table(title, &columns, rows),
                ],
            })
        })
    });
    let blocks = std::iter::once(text(words.get("rules-intro"))).chain(sections);
    let mut page = site.page(PageId::Rules, PageKind::Rules, words.get("rules-title"));
    page.parts.push(SitePart::Blocks {
        blocks: blocks.collect(),
    });
    page
}

/// The manual pages of a family's rules. `None` if the run does not make the page.
fn family_page(site: &Site<'_, '_>, writer: &RuleWriter<'_>, family: Family) -> Option<SitePage> {
    let words = site.words();
    let id = PageId::RuleFamily(family);
    if !site.output.includes(&id) {
        return None;
    }
    let sections = rules_of(family).into_iter().map(|rule| {
        Block::Section(SheetSection {
            id: SectionId::Rule(rule.name),
            title: writer.name(rule),
            from: Some(writer.level(rule)),
            blocks: writer.blocks(rule),
        })
    });
    let about = text(about_family(family, words));
    let blocks = std::iter::once(about).chain(sections).collect();
    let mut page = site.page(id, PageKind::Rules, family_title(family, words));
    page.head.over = Some(words.get("rules-title").to_owned());
    page.parts.push(SitePart::Blocks { blocks });
    let link = |family: Family| {
        let title = family_title(family, words);
        site.link_if_made(title, PageId::RuleFamily(family))
    };
    let families = Family::ALL;
    let at = families.iter().position(|other| *other == family)?;
    page.head.nav.previous = families[..at].last().copied().and_then(link);
    page.head.nav.next = families.get(at + 1).copied().and_then(link);
    Some(page)
}

/// The link to the reference, for lists of links. `None` if the run does not make it.
pub(super) fn rules_link(site: &Site<'_, '_>) -> Option<Link> {
    site.link_if_made(site.words().get("rules-title"), PageId::Rules)
}

fn text(text: &str) -> Block {
    Block::Text {
        runs: vec![TextRun::text(text)],
    }
}
