//! The fields of `figures/ID.toml`.

use super::super::{Callout, Legend, Machine, Part};

use crate::record::{ById, Count, Described, Field, Many, Name, Table, Text, field, table};

table! {
    /// What a figure shows: its title, its machines, and its parts with their numbers. The figure itself is the drawing or
    /// photograph beside the file, with the same name.
    legend: Legend {
        /// The title, printed below the figure.
        TITLE: Text = field("title").required().like(&["Carburettor, drawn apart"]);
        /// The machines that look like it.
        MACHINES: Many<Name<Machine>> = field("machines").required().like(&["tarn-sedge"]);
        /// Parts that it shows taken apart. Each of their fasteners and seals then has a callout.
        ASSEMBLY: Many<Name<Part>> = field("assembly").like(&["float-bowl"]);
        /// What has a number in the figure, by the ids of the parts, valves and controls.
        CALLOUT: ById<Callout> = field("callout");
    }
}

table! {
    /// The number of a part, a valve or a control in a figure.
    callout: Callout {
        /// Its number. Steps print it behind the name: "float bowl (3)".
        NUMBER: Count = field("number").required().like(&["3"]);
        /// Where it is. In an SVG: the id of its element, or of several. In a photograph: the left edge, the upper edge, the
        /// width and the height of its area, in per cent of the photograph: `"41 30 12 9"`.
        PLACE: Many<Text> = field("place").required().like(&["float-bowl"]);
        /// The machines of the figure that have it. Without it: all of them.
        MACHINES: Many<Name<Machine>> = field("machines").like(&["tarn-sedge"]);
    }
}
