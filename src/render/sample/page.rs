//! A sample page of the site.

use crate::page::{Block, Fact, LeafKind, Run};
use crate::site::{Entry, Link, Nav, Page, PageKind, Part};
use crate::words::Words;

/// A machine's page with every text set to `text` where one is given.
pub(in crate::render) fn page(text: Option<&str>) -> Page {
    let say = |usual: &str| text.unwrap_or(usual).to_owned();
    let leaf = |kind: LeafKind, pdf| Link {
        title: Words::english().get(kind.title_key()).to_owned(),
        path: format!("tarn-t7/governor-linkage-{}", kind.slug()),
        anchor: None,
        pdf,
    };
    let crumb = |title: &str, path: &str| Link {
        title: say(title),
        path: path.to_owned(),
        anchor: None,
        pdf: false,
    };
    Page {
        kind: PageKind::Machine,
        title: say("Tarn T7 tiller"),
        over: Some(say("Machine")),
        shop: say("Millbrook Tool Library"),
        logo: None,
        language: "en".to_owned(),
        path: "tarn-t7/index".to_owned(),
        data_note: Some(say(
            "Invented data for demonstration; not for use on any machine",
        )),
        nav: Nav {
            crumbs: vec![crumb("Front page", "index")],
            previous: Some(crumb("Tarn P50 transfer pump", "tarn-p50/index")),
            next: None,
            translations: Vec::new(),
        },
        facts: vec![Fact {
            label: say("Engine"),
            text: say("4-stroke, single, 196 cm³"),
        }],
        manual: None,
        links: vec![leaf(LeafKind::MachineData, false)],
        parts: vec![
            Part::Links {
                title: say("Governor"),
                anchor: "system-governor".to_owned(),
                entries: vec![Entry {
                    link: crumb(
                        "Governor linkage: free and reset",
                        "procedure/governor-linkage",
                    ),
                    about: vec![say("35 min"), say("every 100 h")],
                    leaves: vec![
                        leaf(LeafKind::ShopSheet, true),
                        leaf(LeafKind::BenchChecklist, false),
                    ],
                }],
            },
            Part::OnMachine {
                anchor: "on.tarn-t7".to_owned(),
                name: say("Tarn T7 tiller"),
                facts: Vec::new(),
                links: Vec::new(),
                blocks: vec![Block::Text {
                    runs: vec![Run::text(say("Free the linkage."))],
                }],
            },
        ],
        notices: vec![say(
            "These leaves do not replace the equipment maker's instructions.",
        )],
    }
}
