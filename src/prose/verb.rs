//! The list of verbs and of the kinds of things. `verbs` defines the meaning of each verb.

/// A kind of thing that an action can act on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum ThingKind {
    /// Includes fasteners and linkages.
    Part,
    Valve,
    /// A switch, lever or selector.
    Control,
    Fluid,
    Energy,
    /// A condition that must hold, such as for a run of the engine.
    Condition,
    Engine,
    Reading,
    /// A role that signs.
    Role,
    Tool,
    Supply,
    Procedure,
    /// The target of a reference: a procedure, fault table, step or figure.
    Place,
    Caution,
    /// A time to wait.
    Time,
}

impl ThingKind {
    /// The kinds of things that are records, and so have ids.
    const OF_RECORDS: [ThingKind; 11] = [
        ThingKind::Part,
        ThingKind::Valve,
        ThingKind::Control,
        ThingKind::Fluid,
        ThingKind::Energy,
        ThingKind::Condition,
        ThingKind::Reading,
        ThingKind::Role,
        ThingKind::Tool,
        ThingKind::Supply,
        ThingKind::Caution,
    ];

    /// The kind of records that has this word. `None` for another word, such as `machine`.
    pub(crate) fn of_word(word: &str) -> Option<ThingKind> {
        let mut kinds = ThingKind::OF_RECORDS.into_iter();
        kinds.find(|kind| kind.word() == word)
    }

    /// The word for the kind in findings.
    #[must_use]
    pub(crate) fn word(self) -> &'static str {
        match self {
            ThingKind::Part => "part",
            ThingKind::Valve => "valve",
            ThingKind::Control => "control",
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
            ThingKind::Time => "time",
        }
    }

    /// What it is called, with the indefinite article: "an energy".
    #[must_use]
    pub(crate) fn with_article(self) -> String {
        let word = self.word();
        let article = if word.starts_with('e') { "an" } else { "a" };
        format!("{article} {word}")
    }

    /// The key of a thing of this kind in what follows the verb of an action: `governor-rod` in `governor-rod/inner-hole`.
    /// The key of a dimension has that of its part before it, as in `crankshaft/crankpin`.
    #[must_use]
    pub(crate) fn key_in(self, name: &str) -> &str {
        match name.split_once('/') {
            Some((key, _)) if self != ThingKind::Reading => key,
            _ => name,
        }
    }

    /// Whether things of this kind belong to a machine, so that another machine may lack them.
    #[must_use]
    pub(crate) fn is_of_machine(self) -> bool {
        matches!(
            self,
            ThingKind::Part
                | ThingKind::Valve
                | ThingKind::Control
                | ThingKind::Fluid
                | ThingKind::Energy
                | ThingKind::Condition
                | ThingKind::Engine
                | ThingKind::Reading
        )
    }
}

/// Passes the list of verbs to a macro. For each verb: the variant, the word in an address, the kind of thing that it
/// takes, and the module in `src/verbs` that defines its meaning.
macro_rules! each_verb {
    ($callback:ident) => {
        $callback! {
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
            Set "set" Control set;
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
            Wait "wait" Time wait;
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
        /// The verb of an action.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub(crate) enum Verb {
            $(#[doc = concat!("`", $word, "`")] $verb,)+
        }

        impl Verb {
            pub(crate) const ALL: &'static [Verb] = &[$(Verb::$verb),+];

            /// The word that authors write, which is the scheme of the action's address.
            #[must_use]
            pub(crate) fn word(self) -> &'static str {
                match self { $(Verb::$verb => $word),+ }
            }

            #[must_use]
            pub(crate) fn find(word: &str) -> Option<Verb> {
                match word { $($word => Some(Verb::$verb),)+ _ => None }
            }

            /// The kind of thing that it acts on.
            #[must_use]
            pub(crate) fn takes(self) -> ThingKind {
                match self { $(Verb::$verb => ThingKind::$kind),+ }
            }
        }
    };
}

each_verb!(define);

impl Verb {
    /// The verb that is the scheme of an address.
    pub(super) fn of_address(address: &str) -> Option<Verb> {
        address
            .split_once(':')
            .and_then(|(word, _)| Verb::find(word))
    }
}
