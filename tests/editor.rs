//! The language server with clients that are not ours: the client of `pytest-lsp`, which checks every message against the
//! types of the Language Server Protocol, and Neovim without a screen.
#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

mod support;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use support::{copy, root};

const PROGRAM: &str = env!("CARGO_BIN_EXE_benchleaf");

/// What a process wrote.
fn written(output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    text(&output.stdout) + &text(&output.stderr)
}

#[test]
fn sessions_with_the_client_of_pytest_lsp() {
    let python = root().join(".tools/python/bin/python");
    assert!(
        python.is_file(),
        "there is no {}: `cargo xtask test` installs it",
        python.display()
    );
    let output = Command::new(python)
        .args([
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:cacheprovider",
            "-o",
            "asyncio_mode=auto",
        ])
        // A message that the client has not said that it understands.
        .args(["-W", "error::pytest_lsp.LspSpecificationWarning"])
        .arg(root().join("tests/editor"))
        .env("BENCHLEAF", PROGRAM)
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .current_dir(root().join("tests/editor"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", written(&output));
}

fn check(shop: &Path) -> Output {
    Command::new(PROGRAM)
        .arg("check")
        .arg(shop)
        .output()
        .unwrap()
}

#[test]
fn session_in_neovim_leaves_a_clean_tree() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    copy(&root().join("procedures"), &shop);
    let bowl = shop.join("fuel/float-bowl.md");
    let text = fs::read_to_string(&bowl).unwrap();
    assert!(text.contains("remove:bowl-nut"));
    fs::write(&bowl, text.replace("remove:bowl-nut", "remove:bowl-nux")).unwrap();
    assert!(!check(&shop).status.success());
    // What the documentation says, with this program before any other of its name.
    let documentation = fs::read_to_string(root().join("docs/editors.md")).unwrap();
    let set_up = documentation.split("```lua\n").nth(1).unwrap();
    let set_up = set_up.split("```").next().unwrap();
    fs::write(folder.path().join("setup.lua"), set_up).unwrap();
    let program_folder = Path::new(PROGRAM).parent().unwrap().to_owned();
    let others = std::env::var_os("PATH").unwrap_or_default();
    let path = std::iter::once(program_folder).chain(std::env::split_paths(&others));
    let path = std::env::join_paths(path).unwrap();
    let output = Command::new("nvim")
        .args(["--headless", "-u"])
        .arg(root().join("tests/editor/init.lua"))
        .env("PATH", path)
        .env("SHOP", &shop)
        .env("SETUP", folder.path().join("setup.lua"))
        // Its own settings and logs are none of the user's.
        .env("XDG_CONFIG_HOME", folder.path().join("config"))
        .env("XDG_CACHE_HOME", folder.path().join("cache"))
        .env("XDG_DATA_HOME", folder.path().join("data"))
        .env("XDG_STATE_HOME", folder.path().join("state"))
        .output()
        .expect("Neovim is installed: `cargo xtask test` installs it");
    assert!(output.status.success(), "{}", written(&output));
    let checked = check(&shop);
    assert!(checked.status.success(), "{}", written(&checked));
    let text = fs::read_to_string(&bowl).unwrap();
    assert!(text.contains("remove:float-bowl-nut") && !text.contains("bowl-nux"));
    let machine = fs::read_to_string(shop.join("machines/tarn-sedge.toml")).unwrap();
    assert!(machine.contains("[part.float-bowl-nut]"), "{machine}");
}
