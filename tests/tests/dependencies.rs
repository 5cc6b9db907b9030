//! What the project is made from: licences, sources and doubles of the crates in the lock, as
//! `deny.toml` allows them.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use forerun_tests::{root, toml};

/// Crates in the lock, with their versions.
fn locked() -> BTreeMap<String, BTreeSet<String>> {
    let lock = toml(&root().join("Cargo.lock"));
    let mut locked: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for package in lock["package"].as_array().expect("packages") {
        let text = |key: &str| package.get(key).and_then(|value| value.as_str());
        let name = text("name").expect("a name").to_owned();
        let version = text("version").expect("a version").to_owned();
        if let Some(source) = text("source") {
            let registry = "registry+https://github.com/rust-lang/crates.io-index";
            assert_eq!(source, registry, "{name} comes from elsewhere");
            assert!(text("checksum").is_some(), "{name} has no checksum");
        }
        locked.entry(name).or_default().insert(version);
    }
    locked
}

/// Each crate that stands twice in the lock has its reason in `deny.toml`, and nothing else has
/// one. All crates come from one registry, with their checksums.
#[test]
fn every_double_has_its_reason() {
    let deny = toml(&root().join("deny.toml"));
    let skipped = deny["bans"]["skip"].as_array().expect("skip");
    let mut explained = BTreeSet::new();
    for row in skipped {
        let crate_ = row["crate"].as_str().expect("a crate");
        assert!(
            row["reason"]
                .as_str()
                .is_some_and(|reason| reason.len() > 10),
            "{crate_}"
        );
        let (name, version) = crate_.split_once('@').expect("name@version");
        explained.insert((name.to_owned(), version.to_owned()));
    }
    let mut doubles = BTreeSet::new();
    for (name, versions) in locked() {
        // The newest is the one to keep; each older one has its reason.
        let newest = versions
            .iter()
            .max_by_key(|version| numbers(version))
            .cloned();
        for version in versions {
            if Some(&version) != newest.as_ref() {
                doubles.insert((name.clone(), version));
            }
        }
    }
    assert_eq!(doubles, explained);
}

/// `1.20.3` as numbers that can be compared.
fn numbers(version: &str) -> Vec<u64> {
    let numbers = version
        .split(['.', '-', '+'])
        .map(|part| part.parse().unwrap_or(0));
    numbers.collect()
}

/// Licences, bans and sources by cargo-deny, where it is at hand. Advisories need its database from
/// the network, so they are not asked for here.
#[test]
fn cargo_deny_finds_nothing() {
    let there = Command::new("cargo-deny").arg("--version").output();
    if !there.is_ok_and(|done| done.status.success()) {
        eprintln!("SKIPPED: cargo-deny is not on the path, so licences were not checked");
        return;
    }
    let checked = Command::new("cargo-deny")
        .args([
            "--offline",
            "--workspace",
            "check",
            "licenses",
            "bans",
            "sources",
        ])
        .current_dir(root())
        .output()
        .expect("cargo-deny runs");
    assert!(
        checked.status.success(),
        "{}",
        String::from_utf8_lossy(&checked.stderr)
    );
}
