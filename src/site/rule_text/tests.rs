use super::*;
use crate::page::visit_links;
use crate::words::Words;

fn shop(text: &str) -> Shop {
    let sources = crate::read(&crate::tree::Memory::new([("shop.toml", text)]));
    sources.shop
}

/// Everything that blocks print, in reading order, without spaces.
fn printed(blocks: &[Block]) -> String {
    let text = |block: &Block| match block {
        Block::Text { runs } => plain(runs),
        Block::Bullets { items } => items.iter().map(|item| plain(item)).collect(),
        Block::Listing(listing) => listing.caption.clone().unwrap_or_default() + &listing.text,
        other => panic!("{other:?}"),
    };
    without_spaces(&blocks.iter().map(text).collect::<String>())
}

fn without_spaces(text: &str) -> String {
    text.split_whitespace().collect()
}

/// Compares the pages with their Markdown, without what marks its form.
#[test]
fn every_word_of_every_page_is_in_its_blocks() {
    let shop = shop("name = \"Shop\"");
    let writer = RuleWriter::new(&shop, Words::english());
    for rule in rules::all() {
        let blocks = writer.blocks(rule);
        let mut is_code = false;
        let mut expected: Vec<String> = Vec::new();
        for line in rule.markdown().lines() {
            if line.starts_with("```") {
                is_code = !is_code;
            } else if let Some(directive) = line.strip_prefix("=== ").filter(|_| is_code) {
                expected.push(match directive.split_once(' ') {
                    None if directive == "bare" => "The shop has no other files.".to_owned(),
                    Some(("on", day)) => format!("Checked on {day}."),
                    Some(("+", file)) => format!("{file}, at the end"),
                    _ => directive.to_owned(),
                });
            } else if let Some(heading) = line.strip_prefix("## ").filter(|_| !is_code) {
                expected.push(format!("{heading}:"));
            } else if is_code {
                expected.push(line.to_owned());
            } else {
                let line = line.strip_prefix("- ").unwrap_or(line);
                expected.push(line.replace(['`', '*'], ""));
            }
        }
        // Asterisks in a text can also be meant, as in `*.toml`.
        let said = printed(&blocks).replace('*', "");
        assert_eq!(
            said,
            without_spaces(&expected.concat()).replace('*', ""),
            "{}",
            rule.name
        );
    }
}

#[test]
fn the_name_of_another_rule_is_a_link_to_its_page() {
    let shop = shop("name = \"Shop\"");
    let writer = RuleWriter::new(&shop, Words::english());
    let mut linked = 0;
    for rule in rules::all() {
        visit_links(&writer.blocks(rule), |target| {
            let LinkTarget::Rule { rule: named, .. } = target else {
                panic!("{target}");
            };
            assert_ne!(*named, rule.name);
            linked += 1;
        });
    }
    assert!(linked >= 5, "{linked} links");
}

#[test]
fn the_level_of_the_shop_is_shown_where_it_differs() {
    let shop = shop(
        "name = \"Shop\"\n[levels]\npart-left-off = \"off: broken <for> parts\"\n\
         part-obstructed = \"error\"\nunknown-field = \"off\"\nunverified-value = \"error\"\n",
    );
    let writer = RuleWriter::new(&shop, Words::english());
    let said = |name: &str| {
        let rule = rules::all().into_iter().find(|rule| rule.name == name);
        let blocks = writer.blocks(rule.unwrap());
        blocks.iter().find_map(|block| match block {
            Block::Text { runs } => Some(plain(runs)).filter(|text| text.contains("In this shop")),
            _ => None,
        })
    };
    assert_eq!(
        said("part-left-off").as_deref(),
        Some("In this shop: off: broken <for> parts")
    );
    assert_eq!(
        said("unverified-value").as_deref(),
        Some("In this shop: error")
    );
    // The default, and a level that no shop can lower.
    assert_eq!(said("part-obstructed"), None);
    assert_eq!(said("unknown-field"), None);
}

/// The text of a page is English whatever the languages of the page and of the shop are.
#[test]
fn english_text_is_marked_on_pages_in_other_languages() {
    let spanish = Words::of("es").unwrap();
    let english = Words::english();
    let shop = shop("name = \"Shop\"");
    let rule = rules::all()
        .into_iter()
        .find(|rule| rule.name == "part-left-off")
        .unwrap();
    let foreign = |words: &Words| {
        let blocks = RuleWriter::new(&shop, words).blocks(rule);
        let Some(Block::Text { runs }) = blocks.first() else {
            panic!()
        };
        matches!(runs.as_slice(), [TextRun::Foreign { language, .. }] if language == "en-GB")
    };
    assert!(foreign(spanish));
    assert!(!foreign(english));
    // Text without marks is in the shop's language, which is English.
    assert!(!foreign(&spanish.for_author("en-US")));
    // The page's own text is marked, because text without marks would be taken for Spanish.
    let marked = english.for_author("es");
    assert!(!foreign(&marked));
    let writer = RuleWriter::new(&shop, &marked);
    assert_eq!(writer.name(rule), marked.own("part-left-off"));
    assert_ne!(writer.name(rule), "part-left-off");
}
