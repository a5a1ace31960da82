//! The fields of a machine's file, without those of its parts.

use super::super::{
    Calculated, Caution, Control, Energy, EnergyKind, Engine, EngineNeed, EngineRun, Fluid,
    FluidState, Generator, LostBy, Machine, MachineAction, Part, Reading, RepairKit, Role,
    RunCondition, SerialNumber, Supply, SupplyKind, Tool, Valve, ValveState,
};
use super::choices::ResultName;
use super::names::{Endangered, Lacked, TakenOver};
use crate::quantity::Kind;
use crate::record::{
    ById, Count, Described, Field, Many, Markdown, Name, Number, One, OneOf, Pairs, Quantity,
    Table, Text, field, table,
};
use crate::trade::{Bound, Calculation};

table! {
    /// A machine: its parts and fasteners, energies, fluids, controls, readings, and how its engine is run.
    machine: Machine {
        /// Its name on sheets.
        NAME: Text = field("name").required().like(&["Tarn Rush hand pump"]);
        /// The machine that it is a variant of. It takes over whatever that machine's file has, unless this file has it: a
        /// field of a table, a list, or a table of its own.
        LIKE: Name<Machine> = field("like").like(&["tarn-rush"]);
        /// The ids of what it does not take over from the machine that it is like. A table of the same id in this file then
        /// stands alone.
        LACKS: Many<Name<TakenOver>> = field("lacks").like(&["choke-rod", "oil-level"]);
        /// The first serial number that the file is for. By its last digits, if what comes before them is the same.
        FROM: Text = field("from").matching(SerialNumber::PATTERN).like(&["TR-2400"]);
        /// The last serial number that the file is for.
        TO: Text = field("to").matching(SerialNumber::PATTERN).like(&["TR-2399"]);
        /// The options that machines of this kind have.
        FITTED: Many<Text> = field("fitted").like(&["electric start"]);
        /// The source of every value that has no `basis` of its own.
        BASIS: Text = field("basis").like(&["measured on our own pump, March 2026"]);
        /// A note on the machine.
        NOTE: Text = field("note");
        /// A drawing or photograph for its page and the front page.
        PICTURE: Text = field("picture").like(&["figures/pump.svg"]);
        /// A drawing of its wiring, for its data sheet.
        WIRING: Text = field("wiring").like(&["figures/pump-wiring.svg"]);
        /// The engine.
        ENGINE: One<Engine> = field("engine");
        /// The generator that the engine drives.
        GENERATOR: One<Generator> = field("generator");
        /// How the engine is run.
        RUN: One<EngineRun> = field("run");
        /// The energies that can hurt somebody, by their ids. Each is live when a job begins.
        ENERGY: ById<Energy> = field("energy");
        /// The valves, by their ids.
        VALVE: ById<Valve> = field("valve");
        /// The switches, levers and selectors, by their ids.
        CONTROL: ById<Control> = field("control");
        /// The fluids, by their ids.
        FLUID: ById<Fluid> = field("fluid");
        /// The parts, with fasteners and linkages, by their ids.
        PART: ById<Part> = field("part");
        /// What is measured or adjusted, by its ids.
        READING: ById<Reading> = field("reading");
        /// The conditions that must hold for something, by their ids.
        CONDITION: ById<RunCondition> = field("condition");
        /// Sets of new parts that are sold under one number, by their ids.
        KIT: ById<RepairKit> = field("kit");
    }
}

table! {
    /// A repair kit: new parts under one number. A kit list has it once, in the place of the parts that it holds.
    kit: RepairKit {
        /// Its name on kit lists.
        NAME: Text = field("name").required().like(&["carburettor repair kit"]);
        /// The parts that it holds, as many of each as its `count` says.
        HOLDS: Many<Name<Part>> = field("holds").required().like(&["bowl-gasket", "float-needle"]);
        /// Its number in the shop's catalogue.
        NUMBER: Text = field("number").like(&["YAR-1300"]);
        /// Where it is kept.
        BIN: Text = field("bin").like(&["B4"]);
        /// The price of one.
        PRICE: Text = field("price").like(&["12.50"]);
    }
}

table! {
    /// The engine of a machine.
    engine: Engine {
        /// The kind of engine.
        KIND: Text = field("kind").like(&["4-stroke", "2-stroke"]);
        /// Sparks per turn of the crankshaft: 1, or 0.5 if a cam triggers the spark.
        IGNITION_PULSES_PER_TURN: Number = field("ignition-pulses-per-turn").like(&["1", "0.5"]);
    }
}

table! {
    /// The generator of a machine. Its electrical energy is isolated when the engine is started, and restored while it runs.
    generator: Generator {
        /// The number of poles, which is even.
        POLES: Count = field("poles").required().like(&["2", "4"]);
        /// The frequency at its rated load.
        FREQUENCY: Quantity = field("frequency").required().of(&[Kind::Frequency]).like(&["50 Hz"]);
        /// How much its speed falls under load, in percent of the speed that `droop-of` in `shop.toml` says.
        DROOP: Quantity = field("droop").of(&[Kind::Percent]).like(&["4 %"]);
        /// The reading of the speed without load.
        SPEED: Name<Reading> = field("speed").like(&["no-load-speed"]);
    }
}

table! {
    /// How the engine is run: for every `run:engine` and `stop:engine`.
    run: EngineRun {
        /// Conditions that must hold.
        NEEDS: Many<Name<RunCondition>> = field("needs").like(&["all-clear"]);
        /// What a run can do without: parts that may be off, fluids that may be empty, valves that may be shut, energies
        /// that may stay isolated.
        MAY_LACK: Many<Name<Lacked>> = field("may-lack").may_be_empty().like(&["air-cleaner"]);
        /// Parts that must be inspected before a run.
        LOOKS: Many<Name<Part>> = field("looks").like(&["blade"]);
        /// Readings that must be measured if the engine is run.
        MEASURE: Many<Name<Reading>> = field("measure").like(&["idle-speed"]);
        /// The role that signs after a run.
        SIGNED_BY: Name<Role> = field("signed-by").like(&["second"]);
        /// How to start the engine. It may contain actions on valves, controls and conditions.
        START: Markdown = field("start").like(&["[](open:fuel-tap), then pull the rope."]);
        /// How to stop the engine. It may contain actions on valves, controls and conditions.
        STOP: Markdown = field("stop").like(&["[](set:switch/off)."]);
    }
}

table! {
    /// An energy that can hurt somebody.
    energy: Energy {
        /// Its name on sheets. By default its id.
        NAME: Text = field("name").like(&["ignition"]);
        /// What it is. Gravity is that of a raised deck or a tilted machine.
        KIND: OneOf<EnergyKind> = field("kind").required();
        /// How to isolate it: one instruction, without actions.
        ISOLATE: Markdown = field("isolate").required().like(&["Pull the plug cap off and tie it back."]);
        /// How to prove that it is isolated: one instruction, without actions.
        PROVE: Markdown = field("prove").required().like(&["Pull the rope: no spark."]);
        /// How to restore it: one instruction, without actions. Required, but not for heat, which cools by itself.
        RESTORE: Markdown = field("restore").like(&["Push the plug cap on."]);
        /// The parts, fluids, valves, controls, readings and other energies that nobody may put hands on while it is live.
        /// Without it, ignition, electricity and motion endanger whoever puts hands on any part; other kinds require it.
        ENDANGERS: Many<Name<Endangered>> = field("endangers").like(&["blade", "spindle"]);
        /// The locks, tags, blocks and pins that keep it isolated: each is put on with `use:` before it is proved.
        SECURED_BY: Many<Name<Tool>> = field("secured-by").like(&["padlock"]);
        /// Its cautions, printed above the first step with it.
        CAUTIONS: Many<Name<Caution>> = field("cautions").like(&["live-ignition"]);
    }
}

table! {
    /// A valve.
    valve: Valve {
        /// Its name on sheets.
        NAME: Text = field("name").required().like(&["fuel tap"]);
        /// The fluid that it shuts.
        SHUTS: Name<Fluid> = field("shuts").like(&["petrol"]);
        /// How a job finds it. By default open.
        FOUND: OneOf<ValveState> = field("found");
        /// How it must be when the engine is started. By default open if it shuts a fluid, otherwise either.
        RUNNING: OneOf<ValveState> = field("running");
    }
}

table! {
    /// A switch, lever or selector.
    control: Control {
        /// Its name on sheets.
        NAME: Text = field("name").required().like(&["engine switch"]);
        /// All positions that it can be put into.
        POSITIONS: Many<Text> = field("positions").required().like(&["off", "on"]);
        /// The position that a job finds it in.
        FOUND: Text = field("found").required().like(&["off"]);
        /// The position that it must be in when the engine is started.
        RUNNING: Text = field("running").like(&["on"]);
    }
}

table! {
    /// A fluid.
    fluid: Fluid {
        /// Its name on sheets. By default its id.
        NAME: Text = field("name").like(&["engine oil"]);
        /// The supply that it is filled with.
        SUPPLY: Name<Supply> = field("supply").required().like(&["oil-sae-30"]);
        /// The kind of supply that may be filled in, or a list of kinds. A supply of another kind is a finding.
        TAKES: Many<OneOf<SupplyKind>> = field("takes").like(&["oil"]);
        /// How much fills it.
        CAPACITY: Quantity = field("capacity").of(&[Kind::Volume, Kind::Mass]).like(&["0.6 L"]);
        /// The source of its values.
        BASIS: Text = field("basis").like(&["label on the tank"]);
        /// Whether a job finds it full (the default) or empty.
        FOUND: OneOf<FluidState> = field("found");
        /// Conditions that must hold when it is drained or filled, or its line is opened.
        NEEDS: Many<Name<RunCondition>> = field("needs").like(&["engine-cold"]);
        /// The part that must be off to fill it. It can be the drain plug as well.
        THROUGH: Name<Part> = field("through").like(&["filler-cap"]);
        /// When the joints of parts that carry it are inspected for leaks: before the ignition is restored (`stopped`, the
        /// default), or during a run of the engine or after it (`running`).
        LEAK_CHECK: OneOf<EngineNeed> = field("leak-check");
        /// The role that signs after it is filled and its joints are inspected.
        SIGNED_BY: Name<Role> = field("signed-by").like(&["second"]);
        /// Its cautions, printed above the first step with it.
        CAUTIONS: Many<Name<Caution>> = field("cautions").like(&["petrol-fire"]);
    }
}

table! {
    /// Something that is measured or adjusted.
    reading: Reading {
        /// Its name on sheets.
        NAME: Text = field("name").required().like(&["idle speed"]);
        /// The limits of the reading. Required, but not for a level.
        LIMITS: Quantity = field("limits").like(&["1700 rpm ± 150 rpm", "at least 15 bar"]);
        /// Instead of limits: the calculation that they follow from.
        CALCULATED: One<Calculated> = field("calculated");
        /// For a level, instead of limits: the lower and the upper mark, as they are engraved.
        MARKS: Many<Text> = field("marks").like(&["MIN", "MAX"]);
        /// The fluid that is measured. It has to be in, and draining or filling it changes the reading.
        FLUID: Name<Fluid> = field("fluid").like(&["engine-oil"]);
        /// The source of its limits.
        BASIS: Text = field("basis").like(&["engine label"]);
        /// The tool that it is taken with.
        TOOL: Name<Tool> = field("tool").like(&["tachometer"]);
        /// The setting of a tool that has several. By default the only one that can show the limits.
        SETTING: Text = field("setting").like(&["DC V", "Ω 200"]);
        /// Conditions that must hold.
        NEEDS: Many<Name<RunCondition>> = field("needs").like(&["engine-warm"]);
        /// Whether the engine must run or be stopped.
        ENGINE: OneOf<EngineNeed> = field("engine");
        /// Energies that may be live while it is measured.
        MAY_BE_LIVE: Many<Name<Energy>> = field("may-be-live").like(&["ignition"]);
        /// Parts that must be on and tight when it is measured or adjusted.
        WITH: Many<Name<Part>> = field("with").like(&["air-cleaner"]);
        /// Parts that must be off when it is measured or adjusted.
        WITHOUT: Many<Name<Part>> = field("without").like(&["valve-cover"]);
        /// Actions that change it: once it was measured or adjusted, it is measured again after them.
        CHANGED_BY: Many<Name<MachineAction>> = field("changed-by").like(&["run:engine", "adjust:idle-speed"]);
        /// Fasteners that must be slack while it is adjusted, and tight before the value as left is measured.
        LOCKED_BY: Many<Name<Part>> = field("locked-by").like(&["lock-nut"]);
        /// The role that signs after it is measured.
        SIGNED_BY: Name<Role> = field("signed-by").like(&["second"]);
        /// Its cautions, printed above the first step with it.
        CAUTIONS: Many<Name<Caution>> = field("cautions").like(&["hot-exhaust"]);
        /// What to do if the reading is over its limits.
        OVER: Markdown = field("over").like(&["Turn the screw out."]);
        /// What to do if the reading is under its limits.
        UNDER: Markdown = field("under").like(&["Turn the screw in."]);
    }
}

table! {
    /// The calculation that the limits of a reading follow from.
    calculated: Calculated {
        /// The name of the calculation, as `benchleaf calculate` has it.
        CALCULATION: OneOf<&'static Calculation> = field("calculation").required();
        /// Its inputs by name, each as a text: a value, which can have a tolerance, or a number or a word. The limits hold
        /// over all tolerances.
        INPUTS: Pairs<Text, Text> = field("inputs").required();
        /// The result that is read. By default the first one of the calculation.
        RESULT: OneOf<ResultName> = field("result");
        /// Whether the reading has to be between the results for all inputs within their tolerances (`within`), or not below
        /// the greatest (`at-least`), or not above the least (`at-most`). By default as the calculation says.
        BOUND: OneOf<Bound> = field("bound");
    }
}

table! {
    /// A condition that must hold for a run, a fluid or a reading.
    condition: RunCondition {
        /// Its name on sheets.
        NAME: Text = field("name").required().like(&["engine warm"]);
        /// The actions that end it. `work` is removing, fitting, slackening or tightening any part; `nothing`, alone, says
        /// that nothing in a job can end it.
        LOST_BY: Many<Name<LostBy>> = field("lost-by").required().like(&["close:fuel-tap", "work"]);
        /// Actions that must come before it is confirmed.
        AFTER: Many<Name<MachineAction>> = field("after").like(&["run:engine"]);
        /// Fluids that must be drained before it is confirmed.
        DRAINED: Many<Name<Fluid>> = field("drained").like(&["petrol"]);
    }
}
