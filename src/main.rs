//! The `benchleaf` program.

fn main() -> std::process::ExitCode {
    benchleaf::cli::run()
}
