//! What fields that name something can name.

use super::super::{
    Caution, Control, Energy, Fluid, LostBy, Machine, MachineAction, Part, Reading, Role,
    RunCondition, Supply, Tool, Valve,
};
use crate::prose::ThingKind;
use crate::record::{Form, Named};

/// A type whose names are the ids of things.
pub(crate) trait Things {
    /// The kinds of these things.
    const KINDS: &'static [ThingKind];
}

fn words<T: Things>() -> Vec<&'static str> {
    T::KINDS.iter().map(|kind| kind.word()).collect()
}

impl<T: Things> Named for T {
    const FORM: Form = Form::Id(words::<T>);
}

macro_rules! things {
    ($($of:ty: $($kind:ident),+;)+) => {
        $(impl Things for $of {
            const KINDS: &'static [ThingKind] = &[$(ThingKind::$kind),+];
        })+
    };
}

things! {
    Caution: Caution;
    Control: Control;
    Endangered: Part, Energy, Fluid, Valve, Control, Reading;
    Energy: Energy;
    Fluid: Fluid;
    Lacked: Part, Fluid, Valve, Energy;
    Part: Part;
    Reading: Reading;
    Role: Role;
    RunCondition: Condition;
    Supply: Supply;
    TakenOver: Part, Energy, Fluid, Valve, Control, Reading, Condition;
    Tool: Tool;
    Valve: Valve;
}

/// What an energy can endanger.
pub(crate) struct Endangered;

/// What an engine can be run without: parts that are off, fluids that are empty, valves that are shut, energies that are
/// isolated.
pub(crate) struct Lacked;

/// What a machine can take over from the one that it is like.
pub(crate) struct TakenOver;

/// A procedure in the order of a chapter. Only its id is known here: `procedure` reads it.
pub(crate) struct ChapterProcedure;

impl Named for ChapterProcedure {
    const FORM: Form = Form::Id(|| vec!["procedure"]);
}

impl Named for Machine {
    const FORM: Form = Form::Id(|| vec!["machine"]);
}

impl Named for MachineAction {
    const FORM: Form = Form::Action(&[]);
}

impl LostBy {
    /// In `lost-by`, the word for [`LostBy::Work`].
    pub(crate) const WORK: &str = "work";

    /// In `lost-by`, the word for a condition that no action ends.
    pub(crate) const NOTHING: &str = "nothing";
}

impl Named for LostBy {
    const FORM: Form = Form::Action(&[LostBy::WORK, LostBy::NOTHING]);
}
