//! What several verbs have in common.

/// Something that is true of some verbs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Trait {
    /// Puts hands where a live energy can reach them.
    PutsHandsIn,
    /// Is endangered by ignition, electricity and motion even where the machine does not say what these
    /// endanger.
    AlwaysEndangered,
    /// Takes a tool to a part: its wrench is on the tool list, and it ends a condition that is lost by
    /// work.
    TakesTools,
    /// Opens the joint of a part that carries a fluid, which may spill.
    OpensJoint,
    /// Moves a setting that a locknut holds.
    MovesLockedSetting,
    /// Is signed for afterwards where the thing names who signs.
    SignedFor,
    /// May stand in a fault table: the machine is as whole after it as before.
    InFaultTable,
}
