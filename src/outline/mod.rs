//! Writes new sources: a small shop to begin with, files with the right keys, and the procedure that takes a part off.
//!
//! In: what is asked for, and a shop's [`Sources`](crate::Sources). Out: the texts of files that a check accepts, with
//! whatever the shop's records do not say marked as missing. This module never changes a file: `new_files` only creates
//! files that are not there.

mod bench;
mod blank;
mod changes;
mod complete;
mod draft;
mod mark;
mod new_files;
mod removal;
mod sentence;
mod start;
mod strip;

pub(crate) use blank::{Subject, fault, machine, procedure, variant};
pub(crate) use draft::gaps;
pub(crate) use new_files::{NewFile, NewFileError, create};
#[cfg(test)]
pub(crate) use removal::Outlined;
pub(crate) use removal::{Request, removal, usual};
pub(crate) use start::{GallonChoice, NewShop, PAPERS, UnitChoice, languages};
pub(crate) use strip::Obstacle;
