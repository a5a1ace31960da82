//! The `benchleaf` program.

/// A run makes and frees millions of small allocations on every core. The C library's allocator
/// requests memory from the system in small steps, and the threads block one another there: a check
/// of a large shop took 40 % longer with it. `.cargo/config.toml` sets jemalloc to use huge pages.
#[cfg(not(target_env = "msvc"))]
#[global_allocator]
static ALLOCATOR: tikv_jemallocator::Jemalloc = tikv_jemallocator::Jemalloc;

fn main() -> std::process::ExitCode {
    benchleaf::cli::run()
}
