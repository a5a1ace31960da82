//! Tests of the import reader on small crates with known faults.

use super::imports::{CRATE_ROOT, Import, Place, circles, imports};
use super::imports_up;

/// The imports of a crate in some place, as pairs of files.
fn edges(files: &[(&str, &str)], place: Place) -> Vec<(String, String)> {
    let imports = imports(files.iter().copied());
    let imports = imports.into_iter().filter(|import| import.place == place);
    let mut edges: Vec<_> = imports.map(|import| (import.from, import.to)).collect();
    edges.dedup();
    edges
}

fn pairs(edges: &[(String, String)]) -> Vec<(&str, &str)> {
    let edges = edges.iter();
    edges
        .map(|(from, to)| (from.as_str(), to.as_str()))
        .collect()
}

const LOW_AND_HIGH: [&str; 3] = ["low", "high", CRATE_ROOT];

/// The imports of a crate with a low and a high stage. `low` is the text of `low/deep.rs`.
fn two_stages(low: &str) -> Vec<Import> {
    imports([
        ("lib.rs", "pub mod high; pub mod low;"),
        ("high/mod.rs", "pub mod inner; pub use inner::Item;"),
        (
            "high/inner.rs",
            "pub struct Item; pub fn make() -> Item { Item }",
        ),
        ("low/mod.rs", "mod deep; pub struct Plain;"),
        ("low/deep.rs", low),
    ])
}

#[test]
fn an_import_from_a_later_stage_is_found_in_every_form() {
    for low in [
        "use crate::high::Item;",
        "use crate::{low::Plain, high::{self}};",
        "use crate::{low::{Plain}, high::inner::{make, Item as Other}};",
        "use super::super::high::inner;",
        "pub use crate::high::Item;",
        "use crate::high::*;",
        "use crate as root; fn f() { root::high::inner::make(); }",
        "fn f() { crate::high::inner::make(); }",
        "fn f() -> crate::high::Item { todo!() }",
        "fn f() { super::super::high::inner::make(); }",
        "fn f() { println!(\"{:?}\", vec![crate::high::inner::make()]); }",
        "macro_rules! m { () => { $crate::high::Item }; }",
        "mod within { fn f() { super::super::super::high::inner::make(); } }",
        "#[cfg(test)] mod tests { use crate::high::Item; }",
        "/// As [`crate::high::Item`].\nstruct Mine;",
        "fn f() { use crate::{high::Item}; }",
    ] {
        let imports = two_stages(low);
        let up = imports_up(&LOW_AND_HIGH, &imports);
        assert!(!up.is_empty(), "{low}");
        assert!(up.iter().all(|import| import.from == "low/deep.rs"));
    }
}

#[test]
fn other_paths_are_not_taken_for_imports_from_a_later_stage() {
    for low in [
        "use super::Plain;",
        "use std::{high, fmt};",
        "use ::high::Item;",
        "fn f(high: u8) -> u8 { high }",
        "fn f() { let high = 1; println!(\"crate::high {high}\"); }",
        "// As crate::high::Item.\n",
        "mod high { pub struct Item; } use self::high::Item; fn f() { high::Item; }",
    ] {
        let imports = two_stages(low);
        let up = imports_up(&LOW_AND_HIGH, &imports);
        assert!(up.is_empty(), "{low}: {up:?}");
    }
}

#[test]
fn a_circle_between_two_files_is_found() {
    let imports = imports([
        ("lib.rs", "mod a;"),
        ("a/mod.rs", "mod b; mod c; pub use b::B;"),
        ("a/b.rs", "use super::{c::{C}}; pub struct B(C);"),
        ("a/c.rs", "pub struct C; fn f() { super::B::g(); }"),
    ]);
    let circles = circles(&imports);
    let files = |circle: &Vec<&Import>| -> Vec<String> {
        circle.iter().map(|import| import.from.clone()).collect()
    };
    let files: Vec<Vec<String>> = circles.iter().map(files).collect();
    assert_eq!(files, [["a/b.rs", "a/c.rs"]]);
}

#[test]
fn a_circle_through_a_mod_rs_is_found() {
    let imports = imports([
        ("lib.rs", "mod a;"),
        ("a/mod.rs", "mod b; mod c; pub struct A; fn f() { b::g(); }"),
        ("a/b.rs", "pub fn g() { super::c::h(); }"),
        ("a/c.rs", "use super::A; pub fn h() -> A { A }"),
    ]);
    assert_eq!(circles(&imports)[0].len(), 3);
}

#[test]
fn re_exports_of_children_and_unit_tests_make_no_circle() {
    let imports = imports([
        ("lib.rs", "mod a;"),
        (
            "a/mod.rs",
            "mod b; mod c; pub(crate) use b::{B, make}; pub struct A;",
        ),
        ("a/b.rs", "use super::A; pub struct B(A); pub fn make() {}"),
        (
            "a/c.rs",
            "use super::{B}; #[cfg(test)] mod tests { use super::super::d; }",
        ),
        ("a/d.rs", "use super::c;"),
    ]);
    assert_eq!(circles(&imports), Vec::<Vec<&Import>>::new());
}

#[test]
fn an_item_is_imported_from_the_file_that_defines_it() {
    let files = [
        ("lib.rs", "pub mod a; pub mod z; pub use a::Item;"),
        (
            "a/mod.rs",
            "mod b; mod parse; pub use self::b::*; pub use parse::parse as read;",
        ),
        ("a/b.rs", "pub struct Item; pub enum Kind { Round }"),
        ("a/parse.rs", "pub fn parse() {}"),
        (
            "z.rs",
            "use crate::Item; fn f() { crate::a::Kind::Round; crate::a::read(); }",
        ),
    ];
    let edges = edges(&files, Place::Code);
    assert_eq!(pairs(&edges), [("z.rs", "a/b.rs"), ("z.rs", "a/parse.rs")]);
}

#[test]
fn imports_of_tests_are_distinguished_from_code() {
    let files = [
        ("lib.rs", "mod a; mod b; #[cfg(test)] mod sample;"),
        (
            "a.rs",
            "#[cfg(all(test, unix))] use crate::b::f; #[cfg(not(test))] use crate::b::g;",
        ),
        ("b.rs", "pub fn f() {} pub fn g() {}"),
        ("sample.rs", "use crate::b;"),
    ];
    let code = edges(&files, Place::Code);
    assert_eq!(pairs(&code), [("a.rs", "b.rs")]);
    let tests = edges(&files, Place::Test);
    assert_eq!(pairs(&tests), [("a.rs", "b.rs"), ("sample.rs", "b.rs")]);
}
