use super::*;
use crate::page::{Edition, SectionId, Topic};
use crate::tree::{self, Memory};
use crate::words::Words;
use std::collections::BTreeSet;

fn output(pages: impl IntoIterator<Item = PageId>) -> OutputContext {
    let tree = tree::read(&Memory::new([] as [(&str, &str); 0]));
    let edition = Edition {
        language: "en".to_owned(),
        words: Words::english().clone(),
    };
    let pages: BTreeSet<PageId> = pages.into_iter().collect();
    OutputContext::new(&tree, &edition, pages)
}

fn bowl() -> JobId {
    JobId::new("tiller", "bowl")
}

/// The address of a target on a page. Empty if it can't be linked to.
fn address_from(page: &PageId, target: &LinkTarget, output: &OutputContext) -> String {
    let mut addresses = AddressesBuilder::new(Paths::new(output, None), page, &|_| false);
    addresses.link(target);
    let links = addresses.finish().links;
    links.into_values().next().unwrap_or_default()
}

#[test]
fn manual_path_names_its_machines_and_systems() {
    let path = |machines: &[&str], systems: &[&str]| {
        let owned = |ids: &[&str]| ids.iter().map(|id| (*id).to_owned()).collect();
        super::neutral_path(&PageId::Manual {
            machines: owned(machines),
            systems: owned(systems),
        })
    };
    assert_eq!(path(&[], &[]), "manual");
    assert_eq!(path(&["tarn-yarrow"], &[]), "tarn-yarrow/manual");
    assert_eq!(
        path(&["tarn-yarrow"], &["fuel"]),
        "manual-on-tarn-yarrow-of-fuel"
    );
    assert_eq!(path(&[], &["fuel", "air"]), "manual-of-fuel-of-air");
    let many: Vec<String> = (0..40).map(|number| format!("machine-{number}")).collect();
    let many: Vec<&str> = many.iter().map(String::as_str).collect();
    let long = path(&many, &[]);
    assert!(long.starts_with("manual-on-machine-0-and-more-"), "{long}");
    assert_ne!(long, path(&many[1..], &["machine-0"]));
}

#[test]
fn url_percent_encodes_all_but_unreserved_characters() {
    assert_eq!(url("figures/a b-1.svg"), "figures/a%20b-1.svg");
    assert_eq!(url("ü\"<"), "%C3%BC%22%3C");
}

#[test]
fn target_has_an_address_only_if_the_run_makes_its_page() {
    let pages = [
        PageId::Front,
        PageId::Machine("tiller".to_owned()),
        PageId::MachineParts("tiller".to_owned()),
        PageId::System("fuel".to_owned()),
        PageId::RuleFamily(crate::finding::Family::Rehearsal),
        PageId::Procedure("bowl".to_owned()),
        PageId::JobSheet(SheetKind::ShopSheet, bowl()),
        PageId::JobSheet(SheetKind::FaultTable, bowl()),
    ];
    let lists = ListKind::ALL.map(PageId::List);
    let with_pages = output(pages.into_iter().chain(lists));
    let without_pages = output([]);
    let id = || "x".to_owned();
    let machine = || "tiller".to_owned();
    for (target, address) in [
        (LinkTarget::Page(PageId::Front), "../index.html"),
        (LinkTarget::Job(bowl()), "bowl-shop-sheet.html"),
        (
            LinkTarget::Step {
                job: bowl(),
                step: 4,
            },
            "bowl-shop-sheet.html#step-4",
        ),
        (LinkTarget::procedure("bowl"), "../procedure/bowl.html"),
        (LinkTarget::fault(bowl()), "bowl-fault-table.html"),
        (LinkTarget::System("fuel".to_owned()), "../system/fuel.html"),
        (
            LinkTarget::Part {
                machine: machine(),
                part: id(),
            },
            "parts.html#part-x",
        ),
        (
            LinkTarget::Reading {
                machine: machine(),
                reading: id(),
            },
            "parts.html#reading-x",
        ),
        (LinkTarget::Tool(id()), "../tools.html#tool-x"),
        (LinkTarget::Supply(id()), "../supplies.html#supply-x"),
        (LinkTarget::Caution(id()), "../cautions.html#caution-x"),
        (LinkTarget::Term(id()), "../glossary.html#term-x"),
        (
            LinkTarget::Rule {
                family: crate::finding::Family::Rehearsal,
                rule: "part-left-off",
            },
            "../rules/rehearsal.html#part-left-off",
        ),
        (
            LinkTarget::machine("tiller").section(SectionId::Topic(Topic::MakeSafe)),
            "index.html#make-safe",
        ),
    ] {
        let page = PageId::MachineSheet(SheetKind::IntervalChart, machine());
        assert_eq!(
            address_from(&page, &target, &with_pages),
            address,
            "{target}"
        );
        assert_eq!(address_from(&page, &target, &without_pages), "", "{target}");
    }
    // Only a manual links to these targets.
    let section = SectionId::Topic(Topic::Torques);
    for target in [
        LinkTarget::machine("tiller").row(section, 1),
        LinkTarget::Elsewhere {
            job: bowl(),
            section: 1,
        },
    ] {
        assert_eq!(
            address_from(&PageId::Front, &target, &with_pages),
            "",
            "{target}"
        );
    }
}

#[test]
fn link_to_a_job_keeps_the_kind_of_sheet() {
    let sheet = |kind, procedure: &str| PageId::JobSheet(kind, JobId::new("tiller", procedure));
    let sheets = SheetKind::OF_JOB.map(|kind| sheet(kind, "bowl"));
    let target = LinkTarget::Job(bowl());
    let output = output(sheets.clone());
    for kind in SheetKind::OF_JOB {
        let address = address_from(&sheet(kind, "other"), &target, &output);
        assert_eq!(address, format!("bowl-{}.html", kind.name()));
    }
    let address = address_from(&sheet(SheetKind::FaultTable, "dry"), &target, &output);
    assert_eq!(address, "bowl-shop-sheet.html");
    let step = LinkTarget::Step {
        job: bowl(),
        step: 4,
    };
    assert_eq!(address_from(&sheets[1], &step, &output), "#step-4");
}

/// A source of the longest name that a system stores has a longer path in the output.
#[test]
fn names_of_files_are_bounded() {
    let long = "a".repeat(250);
    for path in [
        neutral_path(&PageId::System(long.clone())),
        neutral_path(&PageId::System(format!("{long} é"))),
        neutral_path(&PageId::System("é".repeat(120))),
        figure_path(&format!("figures/{long}.svg"), "1a2b3c4d"),
    ] {
        let name = path.rsplit('/').next().unwrap_or_default();
        assert!(name.len() + ".html".len() <= 143, "{name}");
    }
    // Different folders have different names.
    let one = neutral_path(&PageId::System(long.clone()));
    assert_ne!(one, neutral_path(&PageId::System(format!("{long}b"))));
}

/// Others keep these addresses: they are in reports and in bookmarks.
#[test]
fn the_address_of_a_rule_is_that_of_its_page_on_the_site() {
    let rules = crate::rules::all();
    let find = |name: &str| rules.iter().find(|rule| rule.name == name);
    let address = |name: &str| rule_address(find(name).expect("the rule"));
    assert_eq!(
        address("part-left-off"),
        "rules/rehearsal.html#part-left-off"
    );
    assert_eq!(address("broken-toml"), "rules/reading.html#broken-toml");
    let families = crate::finding::Family::ALL.map(PageId::RuleFamily);
    let output = output(families.into_iter().chain([PageId::Front]));
    for rule in &rules {
        let target = LinkTarget::rule(rule);
        let linked = address_from(&PageId::Front, &target, &output);
        assert_eq!(linked, rule_address(rule));
    }
}
