//! The table of all fields that name other records.
//!
//! Names are read only through a [`NameField`], so that no name stays unresolved. The test gives every field
//! of the table an unknown name.

use super::super::{
    Caution, Energy, Fluid, MachineAction, Part, Reading, Role, RunCondition, Supply, ThingId, Tool,
};
use std::marker::PhantomData;

/// A field whose text, or each text of its list, names a `T`.
pub(super) struct NameField<T> {
    pub(super) key: &'static str,
    of: PhantomData<fn() -> T>,
}

macro_rules! name_fields {
    ($($name:ident: $table:literal $key:literal => $of:ident;)+) => {
        $(pub(super) const $name: NameField<$of> = NameField { key: $key, of: PhantomData };)+

        /// For each field: its table, its key and the type that it names.
        #[cfg(test)]
        const ALL: &[(&str, &str, &str)] = &[$(($table, $key, stringify!($of))),+];
    };
}

name_fields! {
    CAUTION_AT_HAND: "caution" "at-hand" => Tool;
    CONDITION_AFTER: "condition" "after" => MachineAction;
    CONDITION_DRAINED: "condition" "drained" => Fluid;
    CONDITION_LOST_BY: "condition" "lost-by" => MachineAction;
    ENERGY_CAUTIONS: "energy" "cautions" => Caution;
    ENERGY_ENDANGERS: "energy" "endangers" => ThingId;
    ENERGY_SECURED_BY: "energy" "secured-by" => Tool;
    FLUID_CAUTIONS: "fluid" "cautions" => Caution;
    FLUID_NEEDS: "fluid" "needs" => RunCondition;
    FLUID_SIGNED_BY: "fluid" "signed-by" => Role;
    FLUID_SUPPLY: "fluid" "supply" => Supply;
    FLUID_THROUGH: "fluid" "through" => Part;
    GENERATOR_SPEED: "generator" "speed" => Reading;
    PART_BEHIND: "part" "behind" => Part;
    PART_CAUTIONS: "part" "cautions" => Caution;
    PART_CARRIES: "part" "carries" => Fluid;
    PART_DRAINS: "part" "drains" => Fluid;
    PART_HELD_BY: "part" "held-by" => Part;
    PART_LAID_OPEN_BY: "part" "laid-open-by" => Part;
    PART_MAY_BE_LIVE: "part" "may-be-live" => Energy;
    PART_OFF_FIRST: "part" "off-first" => Part;
    PART_SEALS: "part" "seals" => Part;
    PART_SIGNED_BY: "part" "signed-by" => Role;
    PART_STACK: "part" "stack" => Part;
    PART_THROUGH: "part" "through" => Part;
    PART_TURNS_WITH: "part" "turns-with" => Reading;
    READING_CAUTIONS: "reading" "cautions" => Caution;
    READING_CHANGED_BY: "reading" "changed-by" => MachineAction;
    READING_LOCKED_BY: "reading" "locked-by" => Part;
    READING_MAY_BE_LIVE: "reading" "may-be-live" => Energy;
    READING_NEEDS: "reading" "needs" => RunCondition;
    READING_SIGNED_BY: "reading" "signed-by" => Role;
    READING_TOOL: "reading" "tool" => Tool;
    READING_WITH: "reading" "with" => Part;
    READING_WITHOUT: "reading" "without" => Part;
    RUN_LOOKS: "run" "looks" => Part;
    RUN_MAY_LACK: "run" "may-lack" => ThingId;
    RUN_MEASURE: "run" "measure" => Reading;
    RUN_NEEDS: "run" "needs" => RunCondition;
    RUN_SIGNED_BY: "run" "signed-by" => Role;
    SUPPLY_CAUTIONS: "supply" "cautions" => Caution;
    VALVE_SHUTS: "valve" "shuts" => Fluid;
}

#[cfg(test)]
mod tests {
    use super::ALL;
    use crate::finding::Findings;
    use crate::shop::rules;
    use crate::tree::{self, Memory};
    use std::fmt::Write as _;

    /// A table of each kind with its required fields.
    const RECORDS: [(&str, &str); 10] = [
        (
            "caution",
            "signal-word = \"danger\"\nhazard = \"a\"\nconsequence = \"b\"\navoid = \"c\"",
        ),
        (
            "energy",
            "kind = \"ignition\"\nisolate = \"a\"\nprove = \"b\"\nrestore = \"c\"",
        ),
        ("valve", "name = \"tap\""),
        ("fluid", ""),
        ("part", "name = \"cover\""),
        ("reading", "name = \"speed\"\nlimits = \"1 to 2 rpm\""),
        ("condition", "name = \"warm\""),
        ("generator", "poles = 2\nfrequency = \"50 Hz\""),
        ("run", ""),
        ("supply", "name = \"petrol\""),
    ];

    /// Reads a shop that has one record of each kind, and adds `field` to the record of `table`.
    fn findings_with(table: &str, field: &str) -> Findings {
        let mut machine = "name = \"Hand pump\"\nengine = { kind = \"4-stroke\" }\n".to_owned();
        let (mut supplies, mut cautions) = (String::new(), String::new());
        for (kind, required) in RECORDS {
            let file = match kind {
                "supply" => &mut supplies,
                "caution" => &mut cautions,
                _ => &mut machine,
            };
            let header = if matches!(kind, "generator" | "run") {
                kind.to_owned()
            } else {
                format!("{kind}.the-{kind}")
            };
            let added = if kind == table { field } else { "" };
            let also_required = match kind {
                "fluid" if !added.starts_with("supply =") => "supply = \"the-supply\"",
                "condition" if !added.starts_with("lost-by =") => "lost-by = \"nothing\"",
                _ => "",
            };
            let _ = writeln!(file, "[{header}]\n{required}\n{also_required}\n{added}");
        }
        let tree = tree::read(&Memory::new([
            (
                "shop.toml",
                "name = \"Shop\"\n[role.the-role]\nname = \"Smith\"".to_owned(),
            ),
            (
                "tools.toml",
                "[tool.the-tool]\nname = \"tachometer\"".to_owned(),
            ),
            ("supplies.toml", supplies),
            ("cautions.toml", cautions),
            ("machines/hand-pump.toml", machine),
        ]));
        let mut findings = Findings::new();
        crate::shop::read(&tree, &mut findings);
        findings
    }

    #[test]
    fn every_name_field_resolves_known_names_and_reports_unknown_ones() {
        for (table, key, target) in ALL {
            let (known, unknown) = match *target {
                // The only part is the record itself, and a part can't be behind itself.
                "Part"
                    if matches!(
                        *key,
                        "behind" | "held-by" | "stack" | "off-first" | "seals" | "laid-open-by"
                    ) =>
                {
                    ("", "the-valve")
                }
                "Part" => ("the-part", "the-valve"),
                "ThingId" => ("the-part", "the-condition"),
                "Energy" => ("the-energy", "the-part"),
                "MachineAction" => ("remove:the-part", "remove:the-valve"),
                "RunCondition" => ("the-condition", "the-part"),
                "Caution" => ("the-caution", "the-part"),
                "Fluid" => ("the-fluid", "the-part"),
                "Reading" => ("the-reading", "the-part"),
                "Role" => ("the-role", "the-part"),
                "Supply" => ("the-supply", "the-part"),
                "Tool" => ("the-tool", "the-part"),
                unexpected => panic!("no test names for the type `{unexpected}`"),
            };
            let findings_for = |name: &str| {
                let findings = findings_with(table, &format!("{key} = \"{name}\""));
                let findings = findings
                    .iter()
                    .map(|finding| (finding.rule.name, finding.message.clone()));
                findings.collect::<Vec<_>>()
            };
            if !known.is_empty() {
                let findings = findings_for(known);
                assert_eq!(findings, [], "`{key}` of `{table}` rejects a known name");
            }
            let findings = findings_for(unknown);
            assert_eq!(
                findings.len(),
                1,
                "`{key}` of `{table}` should report one unknown name: {findings:?}"
            );
            assert_eq!(findings[0].0, rules::UNKNOWN_NAME.name, "{findings:?}");
        }
    }

    #[test]
    fn lost_by_and_after_name_actions_that_a_step_can_perform() {
        let known = [
            "remove:the-part",
            "renew:the-part",
            "open:the-valve",
            "drain:the-fluid",
            "isolate:the-energy",
            "measure:the-reading",
            "run:engine",
            "hold:the-role",
            "use:the-tool",
            "apply:the-supply",
        ];
        let wrong = [
            ("caution:the-caution", &rules::IMPOSSIBLE_ACTION),
            ("see:step/run/engine", &rules::IMPOSSIBLE_ACTION),
            ("do:the-procedure", &rules::IMPOSSIBLE_ACTION),
            ("confirm:the-condition", &rules::IMPOSSIBLE_ACTION),
            ("run:engin", &rules::UNKNOWN_NAME),
            ("use:the-tol", &rules::UNKNOWN_NAME),
            ("apply:the-tool", &rules::UNKNOWN_NAME),
            ("fit:the-part/upper-hole", &rules::UNKNOWN_NAME),
            ("open:the-fluid", &rules::UNKNOWN_NAME),
            ("wrok", &rules::UNKNOWN_CHOICE),
            ("shut:the-valve", &rules::UNKNOWN_CHOICE),
        ];
        let rules_of = |key: &str, action: &str| -> Vec<&'static str> {
            let findings = findings_with("condition", &format!("{key} = [\"{action}\"]"));
            findings.iter().map(|finding| finding.rule.name).collect()
        };
        for key in ["lost-by", "after"] {
            for action in known {
                assert!(rules_of(key, action).is_empty(), "{key} = {action}");
            }
            for (action, rule) in wrong {
                assert_eq!(rules_of(key, action), [rule.name], "{key} = {action}");
            }
        }
        assert!(rules_of("lost-by", "work").is_empty());
        assert!(rules_of("lost-by", "nothing").is_empty());
        assert_eq!(rules_of("after", "work"), [rules::UNKNOWN_CHOICE.name]);
        assert_eq!(rules_of("after", "nothing"), [rules::UNKNOWN_CHOICE.name]);
        // Either nothing ends it, or something does.
        let both = findings_with("condition", "lost-by = [\"nothing\", \"run:engine\"]");
        assert_eq!(both.iter().count(), 1);
        let neither = findings_with("condition", "lost-by = []");
        let found: Vec<&str> = neither.iter().map(|finding| finding.rule.name).collect();
        assert_eq!(found, [rules::END_NOT_NAMED.name]);
        // Two conditions that wait for each other can never hold.
        let circle = "after = \"confirm:other\"\n[condition.other]\nname = \"other\"\nafter = \"confirm:the-condition\"\nlost-by = \"nothing\"";
        let findings = findings_with("condition", circle);
        let found: Vec<&str> = findings.iter().map(|finding| finding.rule.name).collect();
        assert_eq!(found, [rules::IMPOSSIBLE_ACTION.name; 2]);
        let chain = "after = \"confirm:other\"\n[condition.other]\nname = \"other\"\nafter = \"run:engine\"\nlost-by = \"nothing\"";
        assert!(findings_with("condition", chain).is_empty());
    }
}
