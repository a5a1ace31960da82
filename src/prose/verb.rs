//! The verbs: one row each. What each means is in `verbs`.

/// What kinds of thing an action can be on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum ThingKind {
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
    pub(crate) fn word(self) -> &'static str {
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
    pub(crate) fn is_of_machine(self) -> bool {
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

/// The list of verbs: the variant, the word in an address, the kind of thing it takes, and the file in
/// `src/verbs` that says what it means.
macro_rules! each_verb {
    ($then:ident) => {
        $then! {
            Remove "remove" Part remove;
            Fit "fit" Part fit;
            Renew "renew" Part renew;
            Slacken "slacken" Part slacken;
            Tighten "tighten" Part tighten;
            Note "note" Part note;
            Turn "turn" Part turn;
            Clean "clean" Part clean;
            Inspect "inspect" Part inspect;
            Open "open" Valve open;
            Close "close" Valve close;
            Drain "drain" Fluid drain;
            Fill "fill" Fluid fill;
            Isolate "isolate" Energy isolate;
            Prove "prove" Energy prove;
            Restore "restore" Energy restore;
            Confirm "confirm" Condition confirm;
            End "end" Condition end;
            Run "run" Engine run;
            Stop "stop" Engine stop;
            Measure "measure" Reading measure;
            Adjust "adjust" Reading adjust;
            Hold "hold" Role hold;
            Use "use" Tool r#use;
            Apply "apply" Supply apply;
            Do "do" Procedure r#do;
            See "see" Place see;
            Caution "caution" Caution caution;
        }
    };
}
pub(crate) use each_verb;

macro_rules! define {
    ($($verb:ident $word:literal $kind:ident $module:ident;)+) => {
        /// What a step does to a thing.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub(crate) enum Verb {
            $(#[doc = concat!("`", $word, "`")] $verb,)+
        }

        impl Verb {
            /// All verbs.
            pub(crate) const ALL: &'static [Verb] = &[$(Verb::$verb),+];

            /// The verb as an action's scheme.
            #[must_use]
            pub(crate) fn word(self) -> &'static str {
                match self { $(Verb::$verb => $word),+ }
            }

            /// The kind of thing it is done to.
            #[must_use]
            pub(crate) fn takes(self) -> ThingKind {
                match self { $(Verb::$verb => ThingKind::$kind),+ }
            }
        }
    };
}

each_verb!(define);

impl Verb {
    /// The verb that a scheme names.
    #[must_use]
    pub(crate) fn find(word: &str) -> Option<Verb> {
        Verb::ALL.iter().copied().find(|verb| verb.word() == word)
    }
}
