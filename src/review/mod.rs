//! Compares the findings of two states of the sources.
//!
//! **In**: findings with their trees, a baseline file, a commit of a git repository. **Out**: the findings that are new,
//! and the sheets that a change affects. A finding is recognized by what it says and by the text that it marks, so
//! that it stays the same when lines above it are added or removed. This stage never shows anything.

mod baseline;
mod git;
mod identity;
mod sheets;
mod since;

pub(crate) use baseline::Baseline;
pub(crate) use git::{GitError, Repository};
pub(crate) use identity::{Identity, fingerprints};
pub(crate) use sheets::{SheetMarks, check_with_sheets};
pub(crate) use since::{Before, keep_introduced};
