//! Modules look one way: in every folder of both crates, no circle of imports.
//!
//! What a test module imports does not count; nor does what a file takes from its own folder's
//! `mod.rs`, for the two are one thing.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use syn::visit::{self, Visit};

/// A module by its path from the crate's root: `["apparatus", "checks", "heat"]`.
type Module = Vec<String>;

/// Which modules each module names.
type Uses = BTreeMap<Module, BTreeSet<Module>>;

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(folder).expect("a folder of the crate");
    for path in entries.filter_map(Result::ok).map(|entry| entry.path()) {
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

fn module_of(source: &Path, path: &Path) -> Module {
    let relative = path.strip_prefix(source).expect("a file of the crate");
    let mut module: Module = relative
        .with_extension("")
        .iter()
        .map(|part| part.to_string_lossy().into_owned())
        .collect();
    module.pop_if(|last| ["mod", "lib", "main"].contains(&last.as_str()));
    module
}

/// Gathers the paths that one file names, made whole.
struct Paths {
    module: Module,
    named: BTreeSet<Module>,
}

impl Paths {
    fn name(&mut self, words: &[String]) {
        let mut whole = match words.first().map(String::as_str) {
            Some("crate") => Vec::new(),
            Some("self" | "super") => self.module.clone(),
            _ => return,
        };
        for word in words {
            match word.as_str() {
                "crate" | "self" => {}
                "super" => {
                    whole.pop();
                }
                _ => whole.push(word.clone()),
            }
        }
        self.named.insert(whole);
    }

    fn tree(&mut self, before: &mut Vec<String>, tree: &syn::UseTree) {
        match tree {
            syn::UseTree::Path(path) => {
                before.push(path.ident.to_string());
                self.tree(before, &path.tree);
                before.pop();
            }
            syn::UseTree::Group(group) => {
                for item in &group.items {
                    self.tree(before, item);
                }
            }
            syn::UseTree::Name(name) => {
                before.push(name.ident.to_string());
                self.name(before);
                before.pop();
            }
            syn::UseTree::Rename(name) => {
                before.push(name.ident.to_string());
                self.name(before);
                before.pop();
            }
            syn::UseTree::Glob(_) => self.name(before),
        }
    }
}

impl<'ast> Visit<'ast> for Paths {
    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        // Test modules stand inside their file; all others are files.
        if item.content.is_none() {
            visit::visit_item_mod(self, item);
        }
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        self.tree(&mut Vec::new(), &item.tree);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let words: Vec<String> = path.segments.iter().map(|s| s.ident.to_string()).collect();
        self.name(&words);
        visit::visit_path(self, path);
    }
}

/// What each module of a crate names of the others. A name inside a module (`problem::nearest`)
/// counts for the deepest module on its way.
fn uses(source: &Path) -> Uses {
    let mut files = Vec::new();
    sources(source, &mut files);
    let known: BTreeSet<Module> = files.iter().map(|path| module_of(source, path)).collect();
    let mut uses = Uses::new();
    for path in &files {
        let text = fs::read_to_string(path).expect("a source");
        let file = syn::parse_file(&text).unwrap_or_else(|why| panic!("{}: {why}", path.display()));
        let module = module_of(source, path);
        let mut paths = Paths {
            module: module.clone(),
            named: BTreeSet::new(),
        };
        paths.visit_file(&file);
        let named = paths.named.into_iter().filter_map(|mut name| {
            while !known.contains(&name) {
                name.pop()?;
            }
            Some(name)
        });
        uses.entry(module).or_default().extend(named);
    }
    uses
}

/// In each folder, what its direct members (files and folders) name of each other.
fn by_folder(uses: &Uses) -> BTreeMap<Module, BTreeMap<String, BTreeSet<String>>> {
    let mut folders: BTreeMap<Module, BTreeMap<String, BTreeSet<String>>> = BTreeMap::new();
    for (from, named) in uses {
        for to in named {
            let shared = from.iter().zip(to).take_while(|(a, b)| a == b).count();
            if let (Some(one), Some(other)) = (from.get(shared), to.get(shared)) {
                let members = folders.entry(from[..shared].to_vec()).or_default();
                members
                    .entry(one.clone())
                    .or_default()
                    .insert(other.clone());
            }
        }
    }
    folders
}

/// A circle among `members`, if there is one: those that are left when all that name nobody who
/// is left have been taken away, again and again.
fn circle(members: &BTreeMap<String, BTreeSet<String>>) -> Vec<String> {
    let mut left = members.clone();
    loop {
        let before = left.len();
        let names: BTreeSet<String> = left.keys().cloned().collect();
        left.retain(|_, named| named.iter().any(|name| names.contains(name)));
        if left.len() == before {
            return left.into_keys().collect();
        }
    }
}

#[test]
fn no_folder_has_a_circle_of_imports() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut looked_at = 0;
    let mut circles = Vec::new();
    for name in ["calc-wasm", "site-builder"] {
        let uses = uses(&root.join(name).join("src"));
        for (folder, members) in by_folder(&uses) {
            looked_at += members.values().map(BTreeSet::len).sum::<usize>();
            let circle = circle(&members);
            if !circle.is_empty() {
                let folder = folder.join("/");
                circles.push(format!("{name}/src/{folder}: {}", circle.join(", ")));
            }
        }
    }
    assert!(looked_at > 120, "only {looked_at} imports: are they read?");
    assert!(circles.is_empty(), "{}", circles.join("\n"));
}

#[test]
fn a_circle_is_found() {
    let names = |list: &[&str]| list.iter().map(|name| (*name).to_owned()).collect();
    let mut members = BTreeMap::from([
        ("a".to_owned(), names(&["b"])),
        ("b".to_owned(), names(&["c"])),
        ("d".to_owned(), names(&["a"])),
    ]);
    assert_eq!(circle(&members), Vec::<String>::new());
    members.insert("c".to_owned(), names(&["a"]));
    assert_eq!(circle(&members), ["a", "b", "c", "d"]);
}
