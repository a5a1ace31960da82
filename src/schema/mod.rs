//! What authors can write in each kind of file, for the programs that help them to write it.
//!
//! In: the descriptions of fields, by which the files are read, and the list of rules. Out: a JSON Schema for
//! each kind of file (draft 7, which language servers for TOML expect), and what can be at a place in a file. This module
//! describes no field itself.

mod file_kind;
mod files;
mod object;
mod place;
mod write;

pub(crate) use file_kind::FileKind;
pub(crate) use files::{SchemaError, text, write_files};
pub(crate) use place::Place;
