//! The typst processes that run, so that a signal that ends this program ends them as well.

use std::collections::BTreeSet;
use std::io;
use std::process::{Child, Command};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The ids of the processes.
static RUNNING: Mutex<BTreeSet<u32>> = Mutex::new(BTreeSet::new());

fn running() -> MutexGuard<'static, BTreeSet<u32>> {
    RUNNING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A process that is ended by [`end_processes`] until this value is dropped.
#[derive(Debug)]
pub(super) struct Running(u32);

impl Running {
    /// Starts a process.
    pub(super) fn start(command: &mut Command) -> io::Result<(Child, Running)> {
        // While it starts, no other thread can end all processes and miss this one.
        let mut running = running();
        let child = command.spawn()?;
        running.insert(child.id());
        let id = child.id();
        Ok((child, Running(id)))
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        running().remove(&self.0);
    }
}

/// Ends all typst processes. None is started from then on, since this program is about to end: a thread that tries to
/// waits.
pub(crate) fn end_processes() {
    let running = running();
    #[cfg(unix)]
    for id in running.iter() {
        let id = i32::try_from(*id)
            .ok()
            .and_then(rustix::process::Pid::from_raw);
        if let Some(id) = id {
            // It may have ended by itself.
            let _ = rustix::process::kill_process(id, rustix::process::Signal::KILL);
        }
    }
    std::mem::forget(running);
}
