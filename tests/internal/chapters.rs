//! The order that a shop gives its chapters and the procedures in them, on all pages that list them.

use super::case::{Case, assert_clean};
use crate::manual::{ManualContent, ManualPiece};
use crate::page::{Edition, OutputContext, PageId, SectionId};
use crate::sheet::Summary;
use crate::site::{self, Site, SitePage, SitePart};
use crate::tree::Memory;
use std::collections::BTreeSet;

/// The folder, the id and the title of each procedure. `cover` of the other machine is in `air`, too.
const PROCEDURES: [(&str, &str, &str); 5] = [
    ("air", "element", "Element"),
    ("fuel", "bowl", "Bowl"),
    ("fuel", "drain", "Drain"),
    ("fuel", "hose", "Hose"),
    ("safety", "safe", "Safe"),
];

fn case(lines: &str) -> Case {
    let mut case = Case::on("[part.lid]\nname = \"lid\"\n");
    for (folder, id, title) in PROCEDURES {
        case.add(
            &format!("{folder}/{id}.md"),
            &format!(
                "+++\ntitle = \"{title}\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. [](clean:lid)\n"
            ),
        );
    }
    let shop = format!("name = \"Shop\"\n{lines}");
    case.world.insert("shop.toml".to_owned(), shop.into_bytes());
    case
}

/// The titles of the links in the parts of a page that `is_wanted` selects.
fn links(page: &SitePage, is_wanted: impl Fn(&SectionId) -> bool) -> Vec<String> {
    let parts = page.parts.iter();
    let entries = parts.flat_map(|part| match part {
        SitePart::Links { id, entries, .. } if is_wanted(id) => entries.as_slice(),
        _ => &[],
    });
    entries.map(|entry| entry.link.title.clone()).collect()
}

/// The titles on each page: the systems of the front page, the procedures of the fuel system and of the machine, and the
/// headings of the manual.
fn orders(case: &Case) -> [Vec<String>; 4] {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let jobs: Vec<Summary<'_>> = checked
        .jobs
        .iter()
        .filter(|rehearsed| rehearsed.job.machine.id == "case")
        .map(|rehearsed| Summary::of(&rehearsed.job))
        .collect();
    let folders = PROCEDURES.map(|(folder, ..)| PageId::System(folder.to_owned()));
    let mut pages: BTreeSet<PageId> = folders.into_iter().collect();
    pages.extend([PageId::Front, PageId::Machine("case".to_owned())]);
    let output = OutputContext::new(&sources.tree, &Edition::first(&sources.shop), pages);
    let site = Site {
        shop: &sources.shop,
        jobs: &jobs,
        faults: &[],
        output: &output,
    };
    let order = site.procedures();
    let machine = sources.shop.machines.get("case").unwrap();
    let is_any = |_: &SectionId| true;
    let titles = ["Air", "Fuel", "Safety"];
    let mut front = links(&site::front(&site, &order), is_any);
    front.retain(|title| titles.contains(&title.as_str()));
    let fuel = site::systems_pages(&site).into_iter();
    let mut fuel = fuel.filter(|page| page.head.page == PageId::System("fuel".to_owned()));
    let fuel = links(&fuel.next().unwrap(), is_any);
    let page = site::machine(&site, &order, machine).unwrap();
    let of_machine = links(&page, |id| matches!(id, SectionId::System(_)));
    let content = ManualContent {
        machines: vec![machine],
        jobs: checked
            .jobs
            .iter()
            .filter(|rehearsed| rehearsed.job.machine.id == "case")
            .map(|rehearsed| (&rehearsed.job, &rehearsed.rehearsal))
            .collect(),
        faults: Vec::new(),
        systems: Vec::new(),
        rules_appendix: false,
        page: PageId::whole_manual(),
    };
    let manual = crate::manual::manual(&sources.tree, &sources.shop, &content, &output);
    let pieces = manual.chapters.iter().flat_map(|chapter| &chapter.pieces);
    let headings = pieces.filter_map(|piece| match piece {
        ManualPiece::Heading { title, .. } => Some(title.clone()),
        _ => None,
    });
    let is_procedure = |title: &String| PROCEDURES.iter().any(|(.., known)| known == title);
    [
        front,
        fuel,
        of_machine,
        headings.filter(is_procedure).collect(),
    ]
}

#[test]
fn pages_list_chapters_and_procedures_in_the_order_of_the_shop() {
    let title = "[system.fuel]\ntitle = \"Fuel\"\n";
    let drain_first = format!("{title}procedures = [\"drain\", \"hose\", \"bowl\"]\n");
    let one_first = format!("{title}procedures = [\"hose\"]\n");
    let chapters = "chapters = [\"safety\", \"fuel\", \"air\"]\n";
    let fuel = ["Bowl", "Drain", "Hose"];
    let cases: [(&str, &str, [&str; 3], [&str; 3]); 5] = [
        ("", "", ["Air", "Fuel", "Safety"], fuel),
        ("", title, ["Fuel", "Air", "Safety"], fuel),
        (chapters, "", ["Safety", "Fuel", "Air"], fuel),
        (
            chapters,
            &drain_first,
            ["Safety", "Fuel", "Air"],
            ["Drain", "Hose", "Bowl"],
        ),
        (
            "",
            &one_first,
            ["Fuel", "Air", "Safety"],
            ["Hose", "Bowl", "Drain"],
        ),
    ];
    for (chapters, tables, front, fuel) in cases {
        let case = case(&format!("{chapters}{tables}"));
        assert_clean(&case);
        let all: Vec<&str> = front
            .iter()
            .flat_map(|system| match *system {
                "Fuel" => fuel.as_slice(),
                "Air" => &["Element"],
                _ => &["Safe"],
            })
            .copied()
            .collect();
        let [on_front, of_fuel, of_machine, in_manual] = orders(&case);
        assert_eq!(on_front, front, "{chapters}{tables}");
        assert_eq!(of_fuel, fuel, "{chapters}{tables}");
        assert_eq!(of_machine, all, "{chapters}{tables}");
        assert_eq!(in_manual, all, "{chapters}{tables}");
    }
}

#[test]
fn a_list_that_leaves_something_out_or_names_something_else_is_reported() {
    let rules = |lines: &str| -> Vec<String> {
        case(lines)
            .findings()
            .into_iter()
            .map(|finding| finding.0)
            .collect()
    };
    let fuel = "[system.fuel]\ntitle = \"Fuel\"\nprocedures = ";
    assert_eq!(
        rules("chapters = [\"safety\", \"fuel\"]"),
        ["chapter-not-listed"]
    );
    assert_eq!(
        rules("chapters = [\"safety\", \"fuel\", \"air\", \"case\"]"),
        ["unknown-name"]
    );
    assert_eq!(
        rules("chapters = [\"safety\", \"air\", \"fuel\", \"air\"]"),
        ["listed-twice"]
    );
    assert_eq!(rules(&format!("{fuel}[\"element\"]")), ["unknown-name"]);
    assert_eq!(
        rules(&format!("{fuel}[\"drain\", \"drain\"]")),
        ["listed-twice"]
    );
}
