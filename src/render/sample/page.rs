//! A sample page of the site.

use super::page_id;
use crate::page::{Block, Fact, LinkTarget, PageId, SectionId, SheetKind, TextRun, Topic, Value};
use crate::site::{
    Link, LinkStyle, Nav, NavGroup, NavLink, PageHead, PageKind, SiteEntry, SitePage, SitePart,
    SiteValue,
};
use crate::words::{DEFAULT_LANGUAGE, Words};

/// A machine's page. If `text` is given, it replaces every text.
pub(in crate::render) fn page(text: Option<&str>) -> SitePage {
    let text = |default: &str| text.unwrap_or(default).to_owned();
    let sheet = |kind: SheetKind| {
        let title = Words::english().get(kind.title_key());
        NavLink {
            link: Link::to_page(title, page_id(kind)),
            icon: Some(kind.name()),
            is_current: false,
        }
    };
    let machine = |id: &str| PageId::Machine(id.to_owned());
    let head = PageHead {
        page: machine("tarn-yarrow"),
        kind: PageKind::Machine,
        title: text("Tarn Yarrow tiller"),
        over: Some(text("Machine")),
        shop: text("Millbrook Tool Library"),
        language: DEFAULT_LANGUAGE.to_owned(),
        data_note: Some(text(
            "Invented data for demonstration; not for use on any machine",
        )),
        nav: Nav {
            home: Some(Link::to_page(text("Front page"), PageId::Front)),
            groups: vec![NavGroup {
                title: Some(text("Lists")),
                links: vec![NavLink {
                    link: Link::to_page(text("Front page"), PageId::Front),
                    icon: Some("front"),
                    is_current: false,
                }],
            }],
            previous: Some(Link::to_page(
                text("Tarn Sedge transfer pump"),
                machine("tarn-sedge"),
            )),
            ..Nav::default()
        },
        picture: None,
        facts: vec![Fact {
            label: text("Engine"),
            text: text("4-stroke, single, 196 cm³"),
        }],
        manual: None,
        notices: vec![text(
            "These sheets do not replace the equipment maker's instructions.",
        )],
    };
    SitePage {
        head,
        parts: vec![
            SitePart::Links {
                id: SectionId::System("governor".to_owned()),
                title: text("Governor"),
                style: LinkStyle::Rows,
                entries: vec![SiteEntry {
                    link: Link {
                        title: text("Governor linkage: free and reset"),
                        target: LinkTarget::procedure("governor-linkage"),
                    },
                    about: vec![text("35 min"), text("every 100 h")],
                    sheets: vec![
                        sheet(SheetKind::ShopSheet),
                        sheet(SheetKind::BenchChecklist),
                    ],
                    picture: None,
                }],
            },
            SitePart::Values {
                id: SectionId::Topic(Topic::Values),
                title: text("Values used most"),
                values: vec![SiteValue {
                    label: text("governed speed"),
                    value: Value {
                        first: text("3100 rpm"),
                        second: None,
                        unverified: false,
                        bare: None,
                    },
                    target: LinkTarget::machine("tarn-yarrow"),
                }],
            },
            SitePart::Blocks {
                blocks: vec![Block::Text {
                    runs: vec![TextRun::text(text("Free the linkage."))],
                }],
            },
        ],
    }
}
