//! The fields of tools, supplies, cautions and terms.

use super::super::{Caution, Price, Supply, SupplyKind, Term, Tool, Word};
use super::choices::{MandatorySign, Sign};
use crate::prose::Verb;
use crate::quantity::Kind;
use crate::record::{
    Date, Described, Field, Flag, Many, Name, Numbers, OneOf, Pairs, Quantity, Table, Text, field,
    table,
};

table! {
    /// A tool of the crib.
    tool: Tool {
        /// Its name on kit lists and sheets.
        NAME: Text = field("name").required().like(&["10 mm socket"]);
        /// Shorter names of it in the text of steps.
        ALSO: Many<Text> = field("also").like(&["socket"]);
        /// The size of what it turns or measures.
        SIZE: Quantity = field("size").like(&["10 mm", "1/2 in"]);
        /// What it can apply or measure: the torques of a torque wrench, the readings of a meter.
        RANGE: Quantity = field("range").like(&["5 N·m to 25 N·m", "0.05 mm to 1 mm"]);
        /// How far a torque wrench may be from the torque that it is set to.
        TOLERANCE: Quantity = field("tolerance").of(&[Kind::Percent]).like(&["4 %"]);
        /// The interval between two marks of a torque wrench. Sheets then print a mark to set.
        GRADUATION: Quantity = field("graduation").like(&["0.5 N·m"]);
        /// The smallest difference that a meter shows.
        RESOLUTION: Quantity = field("resolution").like(&["0.01 mm"]);
        /// How far a meter's reading may be from the true value.
        ACCURACY: Quantity = field("accuracy").like(&["10 rpm"]);
        /// The length of a wrench, from grip to drive.
        LENGTH: Quantity = field("length").of(&[Kind::Length]).like(&["250 mm"]);
        /// How much an extension or crowfoot adds to the length of a wrench.
        EXTENDS: Quantity = field("extends").of(&[Kind::Length]).like(&["40 mm"]);
        /// The angle by which an extension or crowfoot is turned out of the wrench's line.
        TURNED_OUT: Quantity = field("turned-out").of(&[Kind::Angle]).like(&["90°"]);
        /// The settings of a meter with several functions and ranges: what is engraved at each, with what it can measure
        /// there.
        SETTINGS: Pairs<Text, Quantity> = field("settings");
        /// The settings of a tachometer, in sparks per turn of the crankshaft.
        PULSE_SETTINGS: Numbers = field("pulse-settings").like(&["1", "0.5"]);
        /// The day of its last calibration.
        CALIBRATED: Date = field("calibrated").like(&["2026-01-20"]);
        /// The day when it has to be calibrated again.
        DUE: Date = field("due").like(&["2027-01-20"]);
        /// Whether fluids are drained into it or filled from it, so that nothing is filled from what the same job drained
        /// into it.
        CONTAINER: Flag = field("container");
        /// The mandatory signs (ISO 7010) that it complies with, such as `M004` for eye protection. It is put on before
        /// the first step whose message has such a sign.
        PROTECTS: Many<MandatorySign> = field("protects").like(&["M004"]);
        /// Whether it is made or bought for one job, or has to be fetched, so that it is listed before all other tools.
        SPECIAL: Flag = field("special");
        /// A note for the tool list.
        NOTE: Text = field("note");
    }
}

table! {
    /// Something that is used up.
    supply: Supply {
        /// Its name on kit lists and sheets.
        NAME: Text = field("name").required().like(&["engine oil SAE 30"]);
        /// What it is. A supply with a `mix` is a fuel.
        KIND: OneOf<SupplyKind> = field("kind");
        /// Its price for the amount in `each`: a number with up to two decimals.
        PRICE: Text = field("price").matching(Price::PATTERN).like(&["7.20"]);
        /// The amount that the price is for. Without it, the price is that of one piece.
        EACH: Quantity = field("each")
            .of(&[Kind::Volume, Kind::Mass, Kind::Length])
            .like(&["1 L"]);
        /// Its stock number, for ordering.
        NUMBER: Text = field("number").like(&["ST-031"]);
        /// Where it is kept.
        BIN: Text = field("bin").like(&["C4"]);
        /// The container that it is filled from, a tool with `container = true`. Steps that fill it print the container.
        CONTAINER: Name<Tool> = field("container").like(&["fuel-can"]);
        /// The ratio of petrol to oil, one number to one. Sheets print the petrol and the oil that together fill a tank.
        MIX: Quantity = field("mix").of(&[Kind::Ratio]).like(&["50:1"]);
        /// Its cautions, printed above the first step that uses it.
        CAUTIONS: Many<Name<Caution>> = field("cautions").like(&["petrol-fire"]);
        /// A note for the kit list.
        NOTE: Text = field("note");
    }
}

table! {
    /// A safety message.
    caution: Caution {
        /// How severe it is. Danger: will kill or injure seriously; warning: could; caution: could injure slightly; notice:
        /// damage only.
        SIGNAL_WORD: OneOf<Word> = field("signal-word").required();
        /// What the hazard is.
        HAZARD: Text = field("hazard").required().like(&["Petrol vapour catches fire."]);
        /// What happens if it is not avoided.
        CONSEQUENCE: Text = field("consequence").required().like(&["You can be burnt."]);
        /// How to avoid it: a text, or a list of texts.
        AVOID: Many<Text> = field("avoid").required().like(&["Work in the open."]);
        /// How to avoid it in one line, printed where the sheet has already given the message in full.
        REMINDER: Text = field("reminder").like(&["Petrol: no flames."]);
        /// Its safety signs, by their numbers in ISO 7010. Mandatory signs, `M…`, are also printed on the front of a sheet.
        SIGNS: Many<Sign> = field("signs").like(&["W021", "M004"]);
        /// Tools that its precautions ask for, such as a fire extinguisher: each is laid ready with `use:` before the first
        /// step with the message.
        AT_HAND: Many<Name<Tool>> = field("at-hand").like(&["fire-extinguisher"]);
        /// Other precautions before the work begins.
        BEFORE: Many<Text> = field("before").like(&["Open the doors."]);
        /// The verbs of the actions that it applies to. By default all.
        AT: Many<OneOf<Verb>> = field("at").like(&["fit", "tighten"]);
    }
}

table! {
    /// An entry of the glossary.
    term: Term {
        /// The term.
        NAME: Text = field("name").required().like(&["recoil starter"]);
        /// Synonyms. A search for one of them, or for the name, also finds whatever has another of them in its text.
        ALSO: Many<Text> = field("also").like(&["pull starter"]);
        /// What it means, in a sentence or two.
        MEANS: Text = field("means").required().like(&["The rope and spring that start the engine."]);
    }
}
