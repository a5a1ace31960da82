//! The fields of a machine's parts.

use super::super::{Caution, Dimension, Energy, Fluid, Part, Price, Reading, Role, Tool};
use crate::quantity::Kind;
use crate::record::{
    ById, Count, Described, Field, Flag, Many, Markdown, Name, OneOf, Pairs, Quantity, Table, Text,
    field, table,
};
use crate::trade::{Condition, Head, Material, PlugSeat, TighteningPattern};

table! {
    /// A part: also a fastener, a linkage, a blade or a belt.
    part: Part {
        /// Its name on sheets.
        NAME: Text = field("name").required().like(&["carburettor"]);
        /// Its part number.
        NUMBER: Text = field("number").like(&["TR-1204"]);
        /// Part numbers that its number replaces. They are found by the search as well.
        SUPERSEDES: Many<Text> = field("supersedes").like(&["TR-1203"]);
        /// Where new ones are kept.
        BIN: Text = field("bin").like(&["C4"]);
        /// How many there are. By default 1.
        COUNT: Count = field("count").like(&["2"]);
        /// The price of one: a number with up to two decimals.
        PRICE: Text = field("price").matching(Price::PATTERN).like(&["4.50"]);
        /// Parts in front of it, which are removed first and fitted after it.
        BEHIND: Many<Name<Part>> = field("behind").like(&["air-cleaner"]);
        /// Fasteners that hold it.
        HELD_BY: Many<Name<Part>> = field("held-by").like(&["cover-nut"]);
        /// Parts that nobody may take off, loosen, fit or tighten until this one is off, as the negative lead of a battery.
        OFF_FIRST: Many<Name<Part>> = field("off-first").like(&["positive-lead"]);
        /// The fluid that it carries.
        CARRIES: Name<Fluid> = field("carries").like(&["petrol"]);
        /// The fluid that runs out when it is off.
        DRAINS: Name<Fluid> = field("drains").like(&["engine-oil"]);
        /// Whether it is renewed whenever it is removed.
        SINGLE_USE: Flag = field("single-use");
        /// Parts whose joint it seals. It is renewed when one of them was off.
        SEALS: Many<Name<Part>> = field("seals").like(&["cover"]);
        /// Surfaces to clean before it is fitted.
        FACES: Many<Text> = field("faces").like(&["joint face of the cover"]);
        /// Whether it is cleaned whenever it is off, before it is refitted.
        CLEAN: Flag = field("clean");
        /// Parts that expose it when they are off. It is inspected before they are refitted.
        LAID_OPEN_BY: Many<Name<Part>> = field("laid-open-by").like(&["cover"]);
        /// Energies that may be live while it is inspected or its position noted.
        MAY_BE_LIVE: Many<Name<Energy>> = field("may-be-live").like(&["ignition"]);
        /// The role that signs after it is fitted or tightened.
        SIGNED_BY: Name<Role> = field("signed-by").like(&["second"]);
        /// Its cautions, printed above the first step with it.
        CAUTIONS: Many<Name<Caution>> = field("cautions").like(&["sharp-blade"]);
        /// Where on the machine it is, for a part that is not easily found.
        WHERE: Text = field("where").like(&["behind the fan cover, left of the coil"]);
        /// For a plug, socket or lead: the wire at each of its terminals, in their order. Each is a terminal and the code of
        /// a colour (IEC 60757), or the codes of several: `GNYE` is green and yellow.
        WIRES: Many<Text> = field("wires").like(&["1 BK", "earth GNYE"]);
        /// What tells it from parts that look the same.
        MARK: Text = field("mark").like(&["one band of white tape"]);
        /// A note for the sheet of its machine.
        NOTE: Text = field("note");
        /// The source of its values.
        BASIS: Text = field("basis").like(&["measured, March 2026"]);
        /// Where a linkage can be attached.
        POSITIONS: Many<Text> = field("positions").like(&["upper hole", "lower hole"]);
        /// Where a linkage is attached. Leave it out if the mechanic has to note it.
        POSITION: Text = field("position").like(&["upper hole"]);
        /// The reading whose limits decide where a linkage is attached.
        POSITION_BY: Name<Reading> = field("position-by").like(&["governed-speed"]);
        /// For each position, the values of that reading which it is for: `"hole A" = "2900 rpm to 3100 rpm"`.
        POSITION_FOR: Pairs<Text, Quantity> = field("position-for");
        /// The positions that it is turned to by hand. A step names one: `turn:crankshaft/valve-overlap`.
        TURNED_TO: Many<Text> = field("turned-to").like(&["TDC on compression", "valve overlap"]);
        /// Which way round it is fitted.
        ORIENTATION: Text = field("orientation").like(&["short leg to the carburettor"]);
        /// The thread of a fastener: metric, unified, or of a pipe.
        THREAD: Text = field("thread").like(&["M6", "M10x1.25", "1/4-20 UNC", "G1/4"]);
        /// The strength class of a fastener.
        CLASS: Text = field("class").like(&["8.8"]);
        /// What turns a fastener.
        DRIVE: Text = field("drive").like(&["hex 10 mm", "slot"]);
        /// The torque of a fastener.
        TORQUE: Quantity = field("torque").of(&[Kind::Torque]).like(&["9 N·m ± 1 N·m", "8 to 10 ft-lb"]);
        /// The torques and angles of a fastener that is tightened in stages, instead of `torque`.
        STAGES: Many<Quantity> = field("stages").each_of(&[Kind::Torque, Kind::Angle]).like(&["10 N·m", "20 N·m"]);
        /// The order in which the fasteners are tightened.
        PATTERN: OneOf<TighteningPattern> = field("pattern");
        /// Where the fasteners are, seen from their heads: for each one `"x, y"`, to the right and upwards in any unit. Sheets
        /// draw the order of the pattern there; without a pattern, the fasteners are tightened in the order of this list.
        BOLTS_AT: Many<Text> = field("bolts-at").like(&["-30, 20", "30, 20", "30, -20", "-30, -20"]);
        /// How a fastener is assembled. Torques depend on it.
        ASSEMBLED: OneOf<Condition> = field("assembled");
        /// The shape of a fastener's head. It gives the size of the wrench if there is no `drive`.
        HEAD: OneOf<Head> = field("head");
        /// The material of the hole that a fastener is screwed into.
        INTO: OneOf<Material> = field("into");
        /// The length of thread that is screwed in.
        ENGAGEMENT: Quantity = field("engagement").of(&[Kind::Length]).like(&["12 mm"]);
        /// Why its torque is far below what the thread takes.
        LOW_TORQUE: Text = field("low-torque").like(&["brass jet"]);
        /// The seat of a spark plug, whose torque is compared with published ones.
        SPARK_PLUG: OneOf<PlugSeat> = field("spark-plug");
        /// The parts that a long fastener, such as a stud, passes through and holds, from its head inwards.
        STACK: Many<Name<Part>> = field("stack").like(&["air-base", "gasket", "carburettor"]);
        /// When it may be used again. It is then inspected before it is refitted.
        REUSE: Markdown = field("reuse").like(&["No cracks, no rust."]);
        /// The limits of a part that is measured. It is then inspected before it is refitted.
        LIMITS: Quantity = field("limits").like(&["at least 2.5 mm"]);
        /// The dimensions that wear, by their ids. The part is then inspected before it is refitted, or each of them measured.
        DIMENSION: ById<Dimension> = field("dimension");
        /// The diameter of a blade.
        DIAMETER: Quantity = field("diameter").of(&[Kind::Length]).like(&["460 mm"]);
        /// The reading of the engine speed that a blade turns with.
        TURNS_WITH: Name<Reading> = field("turns-with").like(&["top-speed"]);
        /// The belt that drives a blade.
        THROUGH: Name<Part> = field("through").like(&["belt"]);
        /// The highest allowed speed of a blade's tip.
        TIP_SPEED: Quantity = field("tip-speed").of(&[Kind::LinearSpeed]).like(&["96 m/s"]);
        /// The diameter of the pulley that drives a belt.
        DRIVER: Quantity = field("driver").of(&[Kind::Length]).like(&["60 mm"]);
        /// The diameter of the pulley that a belt drives.
        DRIVEN: Quantity = field("driven").of(&[Kind::Length]).like(&["180 mm"]);
    }
}

table! {
    /// A dimension of a part that wears.
    dimension: Dimension {
        /// Its name on sheets.
        NAME: Text = field("name").required().like(&["crankpin diameter"]);
        /// The size of a new part.
        NEW: Quantity = field("new").like(&["29.98 mm to 30.00 mm"]);
        /// The size to aim at when the part is machined or chosen.
        DESIRED: Quantity = field("desired").like(&["29.99 mm to 30.00 mm"]);
        /// What the part must keep to be used again: a least or a greatest value.
        WEAR_LIMIT: Quantity = field("wear-limit").required().like(&["at least 29.92 mm", "max 0.05 mm"]);
        /// Where on the part it is measured.
        WHERE: Text = field("where").like(&["at two places, 90° apart"]);
        /// The tool that it is measured with.
        TOOL: Name<Tool> = field("tool").like(&["micrometer"]);
        /// What is done beyond the wear limit.
        BEYOND: Markdown = field("beyond").like(&["Renew the crankshaft."]);
        /// The source of its values.
        BASIS: Text = field("basis").like(&["maker's manual, section 5"]);
    }
}
