//! Finds the imports between the files of the crate.
//!
//! Every file is parsed, and every path in it is resolved to the file that defines the named item:
//! `use` trees with their groups, paths in expressions and types, paths in macro arguments and links
//! in doc comments. Modules and re-exports are followed, so `super::Item` is an import from the file
//! that defines `Item`, not from the `mod.rs` that re-exports it.

use proc_macro2::{TokenStream, TokenTree};
use std::collections::{BTreeMap, BTreeSet};
use syn::visit::{self, Visit};
use syn::{Attribute, Item, ItemMod, ItemUse, Macro, UseTree, Visibility};

/// The file of the crate's root module.
pub(crate) const CRATE_ROOT: &str = "lib.rs";

/// A path in one file that names something in another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Import {
    pub(crate) from: String,
    pub(crate) to: String,
    pub(crate) path: String,
    pub(crate) place: Place,
}

/// Where a path is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Place {
    Code,
    /// In a `pub use` of an item of a child module.
    Reexport,
    /// In code that is compiled for unit tests only.
    Test,
    /// In a doc comment.
    Doc,
}

/// The imports between the files of a crate. Each file is given by its path below `src` and its text.
///
/// # Panics
///
/// When a file can't be parsed.
pub(crate) fn imports<'t>(files: impl IntoIterator<Item = (&'t str, &'t str)>) -> Vec<Import> {
    let mut modules = Modules::default();
    let mut paths = Vec::new();
    for (file, text) in files {
        let parsed = syn::parse_file(text).unwrap_or_else(|error| panic!("src/{file}: {error}"));
        let module = module_of(file);
        modules.files.insert(module.clone(), file.to_owned());
        let mut reader = Reader {
            modules: &mut modules,
            paths: &mut paths,
            module,
            place: Place::Code,
        };
        reader.visit_file(&parsed);
    }
    let import = |found: &FoundPath| {
        let from = modules.file(&found.module)?;
        let to = modules.file(&modules.resolve(&found.module, &found.path)?)?;
        let in_test = modules
            .tests
            .iter()
            .any(|test| found.module.starts_with(test));
        let is_child = module_of(to).starts_with(&module_of(from));
        let place = match found.place {
            _ if in_test => Place::Test,
            Place::Reexport if !is_child => Place::Code,
            place => place,
        };
        (from != to).then(|| Import {
            from: from.to_owned(),
            to: to.to_owned(),
            path: found.path.join("::"),
            place,
        })
    };
    let imports: BTreeSet<Import> = paths.iter().filter_map(import).collect();
    imports.into_iter().collect()
}

/// Circles of imports in code: from each file that is in one, a shortest path back to it. A file is
/// listed in one circle only.
pub(crate) fn circles(imports: &[Import]) -> Vec<Vec<&Import>> {
    let mut by_file: BTreeMap<&str, Vec<&Import>> = BTreeMap::new();
    for import in imports.iter().filter(|import| import.place == Place::Code) {
        by_file.entry(&import.from).or_default().push(import);
    }
    let mut circles: Vec<Vec<&Import>> = Vec::new();
    for start in by_file.keys() {
        let is_listed = circles.iter().flatten().any(|import| import.from == *start);
        if !is_listed {
            circles.extend(circle_from(start, &by_file));
        }
    }
    circles
}

/// A shortest circle through a file, if there is one.
fn circle_from<'i>(
    start: &str,
    by_file: &BTreeMap<&str, Vec<&'i Import>>,
) -> Option<Vec<&'i Import>> {
    // Breadth first, with the import by which each file was reached.
    let mut reached: BTreeMap<&str, &Import> = BTreeMap::new();
    let mut queue = vec![start];
    let mut next = 0;
    while let Some(file) = queue.get(next).copied() {
        next += 1;
        for import in by_file.get(file).into_iter().flatten() {
            if reached.contains_key(import.to.as_str()) {
                continue;
            }
            reached.insert(&import.to, import);
            queue.push(&import.to);
        }
        if let Some(last) = reached.get(start) {
            let mut circle = vec![*last];
            while circle[0].from != start {
                circle.insert(0, reached[circle[0].from.as_str()]);
            }
            return Some(circle);
        }
    }
    None
}

/// The segments of a path.
type Path = Vec<String>;

fn module_of(file: &str) -> Path {
    if file == CRATE_ROOT {
        return Path::new();
    }
    let stem = file.strip_suffix(".rs").unwrap_or(file);
    let stem = stem.strip_suffix("/mod").unwrap_or(stem);
    stem.split('/').map(str::to_owned).collect()
}

/// A path in the source, with the module that it is in.
struct FoundPath {
    module: Path,
    path: Path,
    place: Place,
}

/// The modules of the crate and the names in them.
#[derive(Default)]
struct Modules {
    /// The file of each module that has one.
    files: BTreeMap<Path, String>,
    /// The inline modules.
    inline: BTreeSet<Path>,
    /// The modules that are compiled for unit tests only.
    tests: BTreeSet<Path>,
    /// The items that a module defines: module and name.
    items: BTreeSet<(Path, String)>,
    /// The names that a module imports: module and name, and the path that is imported.
    imports: BTreeMap<(Path, String), Path>,
    /// The modules that a module imports all names of.
    globs: Vec<(Path, Path)>,
}

impl Modules {
    /// The file that a module is in.
    fn file(&self, module: &[String]) -> Option<&str> {
        let mut module = module.to_vec();
        while !self.files.contains_key(&module) {
            module.pop()?;
        }
        self.files.get(&module).map(String::as_str)
    }

    fn is_module(&self, module: &Path) -> bool {
        self.files.contains_key(module) || self.inline.contains(module)
    }

    /// The module that defines the item that a path names, or the module that it names. `None` for a path out of the
    /// crate.
    fn resolve(&self, module: &[String], path: &[String]) -> Option<Path> {
        self.resolve_within(module, path, 0)
    }

    fn resolve_within(&self, module: &[String], path: &[String], depth: usize) -> Option<Path> {
        // Globs of two modules can import each other.
        if depth > 20 {
            return None;
        }
        let (first, rest) = path.split_first()?;
        let (at, rest) = match first.as_str() {
            "crate" => (&[][..], rest),
            "self" => (module, rest),
            "super" => (module.split_last()?.1, rest),
            _ => return self.find(module, path, depth),
        };
        match rest {
            [] => Some(at.to_vec()),
            [name, ..] if name == "super" || name == "self" => self.resolve_within(at, rest, depth),
            // Items defined by a macro are unknown. They are taken to be in the module that the path names.
            _ => self.find(at, rest, depth).or_else(|| Some(at.to_vec())),
        }
    }

    /// As [`Self::resolve`], with a path that begins with a name in the module.
    fn find(&self, module: &[String], path: &[String], depth: usize) -> Option<Path> {
        let (name, rest) = path.split_first()?;
        let key = (module.to_vec(), name.clone());
        let child: Path = module.iter().chain([name]).cloned().collect();
        let is_module = self.is_module(&child);
        if self.items.contains(&key) && (rest.is_empty() || !is_module) {
            return Some(module.to_vec());
        }
        if is_module {
            return match rest {
                [] => Some(child),
                _ => self.find(&child, rest, depth).or(Some(child)),
            };
        }
        if let Some(import) = self.imports.get(&key) {
            let full_path: Path = import.iter().chain(rest).cloned().collect();
            return self.resolve_within(module, &full_path, depth + 1);
        }
        let globs = self.globs.iter().filter(|(at, _)| at == module);
        globs
            .filter_map(|(_, from)| self.resolve_within(module, from, depth + 1))
            .filter(|from| from != module)
            .find_map(|from| self.find(&from, path, depth + 1))
    }
}

/// Reads the names and paths of a file.
struct Reader<'m> {
    modules: &'m mut Modules,
    paths: &'m mut Vec<FoundPath>,
    module: Path,
    place: Place,
}

impl Reader<'_> {
    fn add_path(&mut self, path: Path, place: Place) {
        self.paths.push(FoundPath {
            module: self.module.clone(),
            path,
            place: self.place.max(place),
        });
    }

    fn define(&mut self, name: &syn::Ident) {
        let key = (self.module.clone(), name.to_string());
        self.modules.items.insert(key);
    }

    /// Reads a `use` tree below a path.
    fn read_use(&mut self, tree: &UseTree, mut path: Path, place: Place) {
        match tree {
            UseTree::Path(tree) => {
                path.push(tree.ident.to_string());
                self.read_use(&tree.tree, path, place);
            }
            UseTree::Group(group) => {
                for tree in &group.items {
                    self.read_use(tree, path.clone(), place);
                }
            }
            UseTree::Glob(_) => {
                let module = self.module.clone();
                self.modules.globs.push((module, path.clone()));
                self.add_path(path, place);
            }
            UseTree::Name(name) => {
                if name.ident != "self" {
                    path.push(name.ident.to_string());
                }
                if let Some(name) = path.last().cloned() {
                    self.import(&name, path, place);
                }
            }
            UseTree::Rename(rename) => {
                if rename.ident != "self" {
                    path.push(rename.ident.to_string());
                }
                self.import(&rename.rename.to_string(), path, place);
            }
        }
    }

    fn import(&mut self, name: &str, path: Path, place: Place) {
        let key = (self.module.clone(), name.to_owned());
        self.modules.imports.insert(key, path.clone());
        self.add_path(path, place);
    }

    /// Reads the paths in the arguments of a macro.
    fn read_tokens(&mut self, tokens: TokenStream) {
        let mut path = Path::new();
        let mut colons = 0;
        for token in tokens {
            match &token {
                TokenTree::Punct(mark) if mark.as_char() == ':' => {
                    colons += 1;
                    continue;
                }
                TokenTree::Ident(name) if colons == 2 && !path.is_empty() => {
                    path.push(name.to_string());
                }
                TokenTree::Ident(name) => {
                    self.end_of_path(&mut path);
                    // A name after a leading `::` is a crate.
                    if colons < 2 {
                        path.push(name.to_string());
                    }
                }
                TokenTree::Group(group) => {
                    self.end_of_path(&mut path);
                    self.read_tokens(group.stream());
                }
                _ => self.end_of_path(&mut path),
            }
            colons = 0;
        }
        self.end_of_path(&mut path);
    }

    fn end_of_path(&mut self, path: &mut Path) {
        let path = std::mem::take(path);
        if path.len() > 1 {
            self.add_path(path, Place::Code);
        }
    }

    /// Runs `read` on something that has attributes.
    fn with(&mut self, attributes: &[Attribute], read: impl FnOnce(&mut Self)) {
        let place = self.place;
        if attributes.iter().any(is_for_tests) {
            self.place = Place::Test;
        }
        read(self);
        self.place = place;
    }
}

/// Whether an attribute is `#[cfg(test)]` or the like.
fn is_for_tests(attribute: &Attribute) -> bool {
    let Ok(list) = attribute.meta.require_list() else {
        return false;
    };
    let condition = list.tokens.to_string();
    let words = condition.split(|letter: char| !letter.is_alphanumeric());
    let has = |name| words.clone().any(|word| word == name);
    list.path.is_ident("cfg") && has("test") && !has("not")
}

fn attributes(item: &Item) -> &[Attribute] {
    match item {
        Item::Const(item) => &item.attrs,
        Item::Enum(item) => &item.attrs,
        Item::Fn(item) => &item.attrs,
        Item::Impl(item) => &item.attrs,
        Item::Macro(item) => &item.attrs,
        Item::Mod(item) => &item.attrs,
        Item::Static(item) => &item.attrs,
        Item::Struct(item) => &item.attrs,
        Item::Trait(item) => &item.attrs,
        Item::Type(item) => &item.attrs,
        Item::Use(item) => &item.attrs,
        _ => &[],
    }
}

impl<'a> Visit<'a> for Reader<'_> {
    fn visit_item(&mut self, item: &'a Item) {
        match item {
            Item::Const(item) => self.define(&item.ident),
            Item::Enum(item) => self.define(&item.ident),
            Item::Fn(item) => self.define(&item.sig.ident),
            Item::Static(item) => self.define(&item.ident),
            Item::Struct(item) => self.define(&item.ident),
            Item::Trait(item) => self.define(&item.ident),
            Item::Type(item) => self.define(&item.ident),
            Item::Macro(item) => {
                if let Some(name) = &item.ident {
                    self.define(name);
                }
            }
            _ => {}
        }
        self.with(attributes(item), |reader| visit::visit_item(reader, item));
    }

    fn visit_item_mod(&mut self, item: &'a ItemMod) {
        self.module.push(item.ident.to_string());
        if item.content.is_some() {
            self.modules.inline.insert(self.module.clone());
        }
        if self.place == Place::Test {
            self.modules.tests.insert(self.module.clone());
        }
        visit::visit_item_mod(self, item);
        self.module.pop();
    }

    fn visit_item_use(&mut self, item: &'a ItemUse) {
        let place = match item.vis {
            Visibility::Inherited => Place::Code,
            _ => Place::Reexport,
        };
        if item.leading_colon.is_none() {
            self.read_use(&item.tree, Path::new(), place);
        }
    }

    fn visit_path(&mut self, path: &'a syn::Path) {
        let segments = path.segments.iter();
        let names: Path = segments.map(|part| part.ident.to_string()).collect();
        // A single name is defined here, or a `use` brings it.
        if path.leading_colon.is_none() && names.len() > 1 {
            self.add_path(names, Place::Code);
        }
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, call: &'a Macro) {
        self.read_tokens(call.tokens.clone());
        visit::visit_macro(self, call);
    }

    /// `pub(super)` uses nothing.
    fn visit_visibility(&mut self, _: &'a Visibility) {}

    fn visit_attribute(&mut self, attribute: &'a Attribute) {
        let Ok(value) = attribute.meta.require_name_value() else {
            return;
        };
        let syn::Expr::Lit(literal) = &value.value else {
            return;
        };
        let syn::Lit::Str(text) = &literal.lit else {
            return;
        };
        if !attribute.path().is_ident("doc") {
            return;
        }
        let text = text.value();
        for (at, _) in text.match_indices("crate::") {
            let ends = |letter: char| !letter.is_alphanumeric() && !"_:".contains(letter);
            let link = text[at..].split(ends).next().unwrap_or_default();
            let names = link.split("::").filter(|name| !name.is_empty());
            self.add_path(names.map(str::to_owned).collect(), Place::Doc);
        }
    }
}
