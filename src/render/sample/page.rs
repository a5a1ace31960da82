//! A sample page of the site.

use super::page_id;
use crate::page::{Block, Fact, LinkTarget, PageId, SectionId, SheetKind, TextRun};
use crate::site::{Link, Nav, PageHead, PageKind, SiteEntry, SitePage, SitePart};
use crate::words::{DEFAULT_LANGUAGE, Words};

/// A machine's page with every text set to `text` where one is given.
pub(in crate::render) fn page(text: Option<&str>) -> SitePage {
    let say = |usual: &str| text.unwrap_or(usual).to_owned();
    let sheet = |kind: SheetKind| {
        let title = Words::english().get(kind.title_key());
        Link::to_page(title, page_id(kind))
    };
    let machine = |id: &str| PageId::Machine(id.to_owned());
    let head = PageHead {
        page: machine("tarn-t7"),
        kind: PageKind::Machine,
        title: say("Tarn T7 tiller"),
        over: Some(say("Machine")),
        shop: say("Millbrook Tool Library"),
        language: DEFAULT_LANGUAGE.to_owned(),
        data_note: Some(say(
            "Invented data for demonstration; not for use on any machine",
        )),
        nav: Nav {
            crumbs: vec![Link::to_page(say("Front page"), PageId::Front)],
            previous: Some(Link::to_page(
                say("Tarn P50 transfer pump"),
                machine("tarn-p50"),
            )),
            next: None,
            translations: Vec::new(),
        },
        facts: vec![Fact {
            label: say("Engine"),
            text: say("4-stroke, single, 196 cm³"),
        }],
        manual: None,
        links: vec![sheet(SheetKind::MachineData)],
        notices: vec![say(
            "These leaves do not replace the equipment maker's instructions.",
        )],
    };
    SitePage {
        head,
        parts: vec![
            SitePart::Links {
                id: SectionId::System("governor".to_owned()),
                title: say("Governor"),
                entries: vec![SiteEntry {
                    link: Link {
                        title: say("Governor linkage: free and reset"),
                        target: LinkTarget::procedure("governor-linkage"),
                    },
                    about: vec![say("35 min"), say("every 100 h")],
                    sheets: vec![
                        sheet(SheetKind::ShopSheet),
                        sheet(SheetKind::BenchChecklist),
                    ],
                }],
            },
            SitePart::OnMachine {
                machine: "tarn-t7".to_owned(),
                name: say("Tarn T7 tiller"),
                facts: Vec::new(),
                links: Vec::new(),
                blocks: vec![Block::Text {
                    runs: vec![TextRun::text(say("Free the linkage."))],
                }],
            },
        ],
    }
}
