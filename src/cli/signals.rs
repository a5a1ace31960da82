//! What happens when a signal ends the program (Ctrl-C, `kill`, a closed terminal).

use super::exit::CliError;
use crate::output::{finish_moves, remove_temporary_folders};
use crate::render::end_processes;
use std::process::exit;

/// The exit status of a program that was ended by Ctrl-C, as shells report it.
const ENDED: i32 = 130;

/// From now on, a signal ends the program only after the files that are being moved are in place, the typesetter is
/// ended and the temporary folders are removed.
///
/// # Errors
///
/// If the system does not accept the handler.
#[allow(clippy::exit, reason = "the signal is to end the program")]
pub(super) fn clean_up_on_signals() -> Result<(), CliError> {
    let handled = ctrlc::set_handler(|| {
        // No other thread begins to move files while this one holds the guard.
        let _moving = finish_moves();
        end_processes();
        remove_temporary_folders();
        exit(ENDED);
    });
    handled.map_err(|error| CliError::new(format!("can't listen for signals: {error}")))
}
