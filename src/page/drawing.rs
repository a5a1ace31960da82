//! Drawings that are made from a machine's records.

use serde::Serialize;

/// What a drawing shows, which decides where a page has space for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum DrawingKind {
    /// The limits of a reading, as a scale.
    Gauge,
    /// A lever with the holes that a part can sit in.
    Positions,
    /// The places of fasteners and the order in which they are tightened.
    Tightening,
    /// The order of the parts of a joint.
    Stack,
    /// What comes off before a part can be reached.
    Access,
    /// What a fluid flows through.
    Line,
    /// The order in which circuits are opened.
    Electrical,
}

impl DrawingKind {
    /// Whether it takes little more paper than the step without it.
    pub(crate) fn is_small(self) -> bool {
        matches!(
            self,
            DrawingKind::Gauge | DrawingKind::Positions | DrawingKind::Tightening
        )
    }
}

/// A drawing, the same in both media.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Drawing {
    pub(crate) kind: DrawingKind,
    /// A whole SVG document. Unlike every other text of a page it is markup, in which the stage `drawing` has escaped what
    /// a shop wrote.
    pub(crate) svg: String,
    /// Its width in print, in tenths of a millimetre.
    pub(crate) width: u32,
    /// Its height in print, in tenths of a millimetre.
    pub(crate) height: u32,
    /// Whether it is shown on a screen only, because the paper of a checklist has no space for it.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub(crate) unprinted: bool,
    /// The text alternative.
    pub(crate) alt: String,
}

/// A drawing that is not at a step.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct TitledDrawing {
    pub(crate) title: String,
    pub(crate) drawing: Drawing,
}
