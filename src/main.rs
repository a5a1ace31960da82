//! The `benchleaf` program.

/// A run makes and forgets millions of small things on every core. The allocator of the C library
/// asks the system for room in small steps for that, and all threads wait for one another there; a
/// check of a large shop took two fifths longer. `.cargo/config.toml` has it ask for huge pages.
#[cfg(not(target_env = "msvc"))]
#[global_allocator]
static ALLOCATOR: tikv_jemallocator::Jemalloc = tikv_jemallocator::Jemalloc;

fn main() -> std::process::ExitCode {
    benchleaf::cli::run()
}
