//! Why a figure can't be printed, and its size if it can.

use crate::finding::Rule;
use crate::tree::rules;

/// Why a figure can't be printed.
#[derive(Clone, Debug)]
pub(in crate::tree) struct Fault {
    pub(in crate::tree) rule: &'static Rule,
    /// Follows the figure's path in the message.
    pub(in crate::tree) message: String,
    pub(in crate::tree) help: String,
}

impl Fault {
    pub(super) fn damaged(message: impl Into<String>) -> Fault {
        Fault {
            rule: &rules::BROKEN_FIGURE,
            message: message.into(),
            help: "export it again as SVG, PNG or JPEG".to_owned(),
        }
    }

    pub(super) fn other_format() -> Fault {
        Fault::damaged("does not match its file extension")
    }

    pub(super) fn incomplete() -> Fault {
        Fault::damaged("is damaged or not complete")
    }

    pub(super) fn too_large() -> Fault {
        Fault::unprintable("is too large to be printed", Fault::SCALE_DOWN)
    }

    /// The help for a photograph that is too large.
    pub(super) const SCALE_DOWN: &str = "scale it down; 2,000 pixels across are sharp on paper";

    pub(super) fn without_size() -> Fault {
        Fault::unprintable(
            "has no size: its width or height is not above zero",
            "set the size of the page in the drawing program, and export it again",
        )
    }

    pub(super) fn unprintable(message: impl Into<String>, help: impl Into<String>) -> Fault {
        Fault {
            rule: &rules::UNPRINTABLE_FIGURE,
            message: message.into(),
            help: help.into(),
        }
    }
}

/// The width and height of a figure, in any unit that both have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Size {
    pub(super) width: f64,
    pub(super) height: f64,
}
