//! Properties that several verbs share.

/// A property of a verb.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Trait {
    /// The hands are where a live energy can reach them.
    PutsHandsIn,
    /// Needs a tool: the part's wrench is put on the tool list, and conditions with `lost-by = "work"` end.
    TakesTools,
    /// Opens the joint of the part, so that a fluid in the part may spill.
    OpensJoint,
    /// Moves settings that the part locks.
    MovesLockedSetting,
    /// Requires a signature afterwards, if the thing names a role that signs.
    SignedFor,
    /// Allowed in a fault table, because it does not take the machine apart.
    InFaultTable,
}
