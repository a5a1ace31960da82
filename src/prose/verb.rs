//! The verbs: one row each.

/// What kinds of thing an action can be on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ThingKind {
    /// A machine's part, fasteners and linkages among them.
    Part,
    /// A machine's valve.
    Valve,
    /// A fluid a machine holds.
    Fluid,
    /// A source of energy in a machine.
    Energy,
    /// Something that has to hold while the engine runs.
    Condition,
    /// The machine's engine.
    Engine,
    /// A reading taken on a machine.
    Reading,
    /// Someone who signs.
    Role,
    /// A tool of the crib.
    Tool,
    /// A supply of the shop.
    Supply,
    /// A procedure.
    Procedure,
    /// A place to refer to: a procedure, a step, a figure.
    Place,
    /// A safety message.
    Caution,
}

impl ThingKind {
    /// The kind as findings say it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            ThingKind::Part => "part",
            ThingKind::Valve => "valve",
            ThingKind::Fluid => "fluid",
            ThingKind::Energy => "energy",
            ThingKind::Condition => "condition",
            ThingKind::Engine => "engine",
            ThingKind::Reading => "reading",
            ThingKind::Role => "role",
            ThingKind::Tool => "tool",
            ThingKind::Supply => "supply",
            ThingKind::Procedure => "procedure",
            ThingKind::Place => "place",
            ThingKind::Caution => "caution",
        }
    }

    /// Whether the machine has it, so that another machine may lack it.
    #[must_use]
    pub fn is_of_machine(self) -> bool {
        matches!(
            self,
            ThingKind::Part
                | ThingKind::Valve
                | ThingKind::Fluid
                | ThingKind::Energy
                | ThingKind::Condition
                | ThingKind::Engine
                | ThingKind::Reading
        )
    }
}

macro_rules! verbs {
    ($($(#[doc = $doc:literal])+ $verb:ident $word:literal on $kind:ident;)+) => {
        /// What a step does to a thing.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Verb {
            $($(#[doc = $doc])+ $verb,)+
        }

        impl Verb {
            /// All verbs.
            pub const ALL: &'static [Verb] = &[$(Verb::$verb),+];

            /// The verb as an action's scheme.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Verb::$verb => $word),+ }
            }

            /// The kind of thing it is done to.
            #[must_use]
            pub fn takes(self) -> ThingKind {
                match self { $(Verb::$verb => ThingKind::$kind),+ }
            }
        }
    };
}

verbs! {
    /// Comes off.
    Remove "remove" on Part;
    /// Goes back.
    Fit "fit" on Part;
    /// A new one goes on, and onto the kit list.
    Renew "renew" on Part;
    /// Made loose, not taken off; must be tightened again.
    Slacken "slacken" on Part;
    /// To its torque, by stages and pattern.
    Tighten "tighten" on Part;
    /// Its place is written down before it comes off.
    Note "note" on Part;
    /// Made clean.
    Clean "clean" on Part;
    /// Looked at against its limits.
    Inspect "inspect" on Part;
    /// Opened.
    Open "open" on Valve;
    /// Closed.
    Close "close" on Valve;
    /// Let out.
    Drain "drain" on Fluid;
    /// Put in.
    Fill "fill" on Fluid;
    /// Made safe.
    Isolate "isolate" on Energy;
    /// Shown to be safe.
    Prove "prove" on Energy;
    /// Live again.
    Restore "restore" on Energy;
    /// Holds from here on.
    Confirm "confirm" on Condition;
    /// Given up.
    End "end" on Condition;
    /// Started.
    Run "run" on Engine;
    /// Stopped.
    Stop "stop" on Engine;
    /// Read and written down.
    Measure "measure" on Reading;
    /// Changed; must be followed by its measurement.
    Adjust "adjust" on Reading;
    /// A stop, signed before going on.
    Hold "hold" on Role;
    /// Onto the tool list.
    Use "use" on Tool;
    /// Onto the kit list.
    Apply "apply" on Supply;
    /// A procedure done here, in full.
    Do "do" on Procedure;
    /// A cross-reference.
    See "see" on Place;
    /// The safety message above a step.
    Caution "caution" on Caution;
}

impl Verb {
    /// The verb that a scheme names.
    #[must_use]
    pub fn find(word: &str) -> Option<Verb> {
        Verb::ALL.iter().copied().find(|verb| verb.word() == word)
    }
}
