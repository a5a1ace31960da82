//! Links with a title.

use crate::page::{LinkTarget, PageId};
use serde::Serialize;

/// A titled link.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Link {
    pub(crate) title: String,
    pub(crate) target: LinkTarget,
}

impl Link {
    pub(crate) fn to_page(title: impl Into<String>, page: PageId) -> Link {
        Link {
            title: title.into(),
            target: LinkTarget::Page(page),
        }
    }
}
