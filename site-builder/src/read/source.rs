//! Stage 1: reads everything an author wrote. Only this file and `write.rs` touch the site's disk.
//!
//! The walk is sorted, so that the same folder always gives the same site. What cannot be read
//! or could not be served under its name is a finding; the rest is read all the same.
//!
//! What the program brings ([`Shipped`]) lies below the author's folders: a file that is in the
//! folder is taken from there, every other one from the program. Tables and parts are taken from
//! both, for there rows add up.

use crate::finding::Finding;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use walkdir::WalkDir;

/// The largest text file read. A page of this length would take a reader hours.
pub const TEXT_LIMIT: u64 = 2 * 1024 * 1024;
/// The largest picture read; the whole site has to fit a phone's bad signal.
pub const PICTURE_LIMIT: u64 = 1024 * 1024;
/// The longest name of a page or folder.
pub const NAME_LIMIT: usize = 64;

const PICTURES: &[&str] = &["svg", "png", "jpg", "jpeg", "webp", "gif", "avif"];

/// Where to read from.
#[derive(Clone, Debug)]
pub struct Folders {
    /// Pages and data.
    pub content: PathBuf,
    /// Templates, styles, scripts and icons.
    pub templates: PathBuf,
    /// Tables of published values, shown on the page of checks.
    pub published: PathBuf,
    /// What lies below all three.
    pub shipped: Shipped,
}

impl Default for Folders {
    fn default() -> Self {
        Self {
            content: CONTENT.into(),
            templates: TEMPLATES.into(),
            published: PUBLISHED.into(),
            shipped: Shipped::default(),
        }
    }
}

/// The folders as they are called where nobody names others.
const CONTENT: &str = "content";
const TEMPLATES: &str = "templates";
const PUBLISHED: &str = "tests/published";

/// The course's own style, in the content folder, and the empty sheet that it replaces.
const OWN_STYLE: &str = "style.css";
const COURSE_STYLE: &str = "style/course.css";

/// Files that the program brings, by path inside their folder.
pub type Inside = BTreeMap<String, &'static [u8]>;

/// All files that the program brings.
#[derive(Clone, Debug, Default)]
pub struct Shipped {
    /// Data tables, parts and assemblies.
    pub content: Inside,
    /// Templates, styles, scripts and icons.
    pub templates: Inside,
    /// Tables of published values.
    pub published: Inside,
}

/// A folder of the author's with what the program brings below it.
struct Layers<'a> {
    folder: &'a Path,
    /// The folder's usual name, by which the program's files are called.
    usual: &'static str,
    inside: &'a Inside,
    /// Whether the program's files will do alone.
    may_be_missing: bool,
    /// Where the files are whose rows add to those of the shipped file of the same name.
    adding: Option<&'static str>,
}

impl<'a> Layers<'a> {
    /// A folder that the author named must be there; one that nobody named may be missing where
    /// the program has its files.
    fn new(folder: &'a Path, usual: &'static str, inside: &'a Inside) -> Self {
        Self {
            folder,
            usual,
            inside,
            may_be_missing: folder == Path::new(usual) && !inside.is_empty(),
            adding: None,
        }
    }
}

/// One text file.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Text {
    /// The path as the author would type it.
    pub file: String,
    /// The path inside its own folder, with `/` between parts.
    pub path: String,
    /// The whole text, without a byte order mark.
    pub text: String,
    /// Whether it comes from inside the program.
    pub shipped: bool,
}

impl Text {
    /// The file's name without its ending.
    pub fn stem(&self) -> &str {
        let name = self.path.rsplit('/').next().unwrap_or(&self.path);
        name.rsplit_once('.').map_or(name, |(stem, _)| stem)
    }

    /// The first folder of the path, or nothing for a file at the top.
    pub fn folder(&self) -> &str {
        self.path.split_once('/').map_or("", |(folder, _)| folder)
    }
}

/// Everything that was read.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    /// `content/**/*.md`
    pub pages: Vec<Text>,
    /// `content/data/**/*.toml`; a shipped table stands before the author's of the same name.
    pub data: Vec<Text>,
    /// `content/data/parts/*.toml`, the parts of apparatus; likewise.
    pub parts: Vec<Text>,
    /// `content/assemblies/*.toml`
    pub assemblies: Vec<Text>,
    /// `content/site.toml`
    pub site: Option<Text>,
    /// `content/style.css`, until it is put among the styles.
    own_style: Option<Text>,
    /// Pictures beside the pages, by path inside the content folder.
    pub pictures: BTreeMap<String, Vec<u8>>,
    /// `templates/*.html`
    pub templates: Vec<Text>,
    /// `templates/style/*.css`
    pub styles: Vec<Text>,
    /// `templates/script/*.js`
    pub scripts: Vec<Text>,
    /// `templates/icons/*`, by name.
    pub icons: BTreeMap<String, Vec<u8>>,
    /// `tests/published/*.toml`
    pub published: Vec<Text>,
}

/// Reads all folders. The findings name what could not be read.
pub fn read(folders: &Folders) -> (Sources, Vec<Finding>) {
    let mut sources = Sources::default();
    let mut findings = Vec::new();
    let content = content(folders);
    if content.may_be_missing && !content.folder.exists() {
        let message = format!("there is no folder `{CONTENT}` here, so the site has no pages");
        findings.push(Finding::whole(CONTENT, message).note());
    }
    for found in walk(&content, &mut findings) {
        content_file(found, &mut sources, &mut findings);
    }
    for found in walk(&templates(folders), &mut findings) {
        template_file(found, &mut sources, &mut findings);
    }
    // The course's own style stands in the place that the templates keep for it.
    if let Some(own) = sources.own_style.take() {
        sources.styles.retain(|sheet| sheet.path != COURSE_STYLE);
        sources.styles.push(Text {
            path: COURSE_STYLE.into(),
            ..own
        });
    }
    let published = published(folders);
    // A site of one's own may do without them.
    if published.folder.is_dir() || published.may_be_missing {
        for found in walk(&published, &mut findings) {
            if found.ending == "toml" {
                sources.published.extend(found.text(&mut findings));
            }
        }
    }
    (sources, findings)
}

/// Reads the data tables alone, for a calculation in the terminal.
pub fn read_data(folders: &Folders) -> (Vec<Text>, Vec<Finding>) {
    let mut findings = Vec::new();
    let inside = &folders.shipped.content;
    let inside = inside.iter().filter_map(|(path, bytes)| {
        let path = path.strip_prefix("data/")?;
        Some((path.to_owned(), *bytes))
    });
    let whole = content(folders);
    let data = Layers {
        folder: &folders.content.join("data"),
        usual: "content/data",
        inside: &inside.collect(),
        may_be_missing: whole.may_be_missing || (!whole.inside.is_empty() && whole.folder.is_dir()),
        adding: Some(""),
    };
    let found = walk(&data, &mut findings);
    let files = found
        .into_iter()
        .filter(|found| found.ending == "toml" && !found.path.starts_with("parts/"))
        .filter_map(|found| found.text(&mut findings))
        .collect();
    (files, findings)
}

fn content(folders: &Folders) -> Layers<'_> {
    Layers {
        adding: Some("data/"),
        ..Layers::new(&folders.content, CONTENT, &folders.shipped.content)
    }
}

fn templates(folders: &Folders) -> Layers<'_> {
    Layers::new(&folders.templates, TEMPLATES, &folders.shipped.templates)
}

fn published(folders: &Folders) -> Layers<'_> {
    Layers::new(&folders.published, PUBLISHED, &folders.shipped.published)
}

fn content_file(found: Found, sources: &mut Sources, findings: &mut Vec<Finding>) {
    match found.path.as_str() {
        "site.toml" => {
            sources.site = found.text(findings);
            return;
        }
        OWN_STYLE => {
            sources.own_style = found.text(findings);
            return;
        }
        _ => {}
    }
    // Data files are never addresses themselves.
    let served = found.ending != "toml";
    if let Some(finding) = unservable(&found).filter(|_| served) {
        findings.push(finding);
        return;
    }
    match found.ending.as_str() {
        "md" => sources.pages.extend(found.text(findings)),
        "toml" if found.path.starts_with("data/parts/") => {
            sources.parts.extend(found.text(findings));
        }
        "toml" if found.path.starts_with("assemblies/") => {
            sources.assemblies.extend(found.text(findings));
        }
        "toml" if found.path.starts_with("data/") => sources.data.extend(found.text(findings)),
        ending if PICTURES.contains(&ending) => {
            if let Some(bytes) = found.bytes(PICTURE_LIMIT, findings) {
                sources.pictures.insert(found.path, bytes);
            }
        }
        _ => findings.push(
            Finding::whole(&found.file, "is neither a page, a data file nor a picture").mend(
                format!(
                    "pages end in .md, data files stand in data/ and end in .toml, pictures end in .{}",
                    PICTURES.join(", .")
                ),
            ),
        ),
    }
}

fn template_file(found: Found, sources: &mut Sources, findings: &mut Vec<Finding>) {
    let folder = found.path.split_once('/').map_or("", |(folder, _)| folder);
    let shelf = match (folder, found.ending.as_str()) {
        (_, "html") => &mut sources.templates,
        ("style", "css") => &mut sources.styles,
        ("script", "js") => &mut sources.scripts,
        ("icons", _) => {
            if let Some(bytes) = found.bytes(PICTURE_LIMIT, findings) {
                let name = found.path.trim_start_matches("icons/").to_owned();
                sources.icons.insert(name, bytes);
            }
            return;
        }
        // A tutor may keep notes beside the templates; they are no part of the site.
        _ => return,
    };
    shelf.extend(found.text(findings));
}

/// One file found on the walk, not yet read.
struct Found {
    place: Place,
    file: String,
    path: String,
    ending: String,
}

/// Where a file is.
enum Place {
    Disk(PathBuf),
    Program(&'static [u8]),
}

impl Found {
    fn new(place: Place, file: String, path: String) -> Self {
        let ending = path
            .rsplit_once('.')
            .map_or(String::new(), |(_, ending)| ending.to_lowercase());
        Self {
            place,
            file,
            path,
            ending,
        }
    }

    fn bytes(&self, limit: u64, findings: &mut Vec<Finding>) -> Option<Vec<u8>> {
        let on_disk = match &self.place {
            Place::Disk(path) => path,
            Place::Program(bytes) => return Some(bytes.to_vec()),
        };
        let size = match fs::metadata(on_disk) {
            Ok(facts) if facts.is_file() => facts.len(),
            Ok(_) => {
                findings.push(Finding::whole(&self.file, "is not an ordinary file"));
                return None;
            }
            Err(error) => {
                findings.push(Finding::whole(
                    &self.file,
                    format!("cannot be read: {error}"),
                ));
                return None;
            }
        };
        if size > limit {
            findings.push(
                Finding::whole(
                    &self.file,
                    format!(
                        "is {} long; the most that is read is {}",
                        in_words(size),
                        in_words(limit)
                    ),
                )
                .mend("split it, or keep it outside the content folder"),
            );
            return None;
        }
        match fs::read(on_disk) {
            Ok(bytes) => Some(bytes),
            Err(error) => {
                findings.push(Finding::whole(
                    &self.file,
                    format!("cannot be read: {error}"),
                ));
                None
            }
        }
    }

    fn text(&self, findings: &mut Vec<Finding>) -> Option<Text> {
        let bytes = self.bytes(TEXT_LIMIT, findings)?;
        match decode(&self.file, bytes) {
            Ok(text) => Some(Text {
                file: self.file.clone(),
                path: self.path.clone(),
                text,
                shipped: matches!(self.place, Place::Program(_)),
            }),
            Err(finding) => {
                findings.push(finding);
                None
            }
        }
    }
}

/// Turns bytes into text, or says where they stop being UTF-8.
fn decode(file: &str, bytes: Vec<u8>) -> Result<String, Finding> {
    let text = String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let sound = String::from_utf8_lossy(&error.as_bytes()[..good]).into_owned();
        let byte = error.as_bytes().get(good).copied().unwrap_or_default();
        Finding::at(
            file,
            &sound,
            good..good,
            format!("is not UTF-8: byte {byte:#04x} starts no character"),
        )
        .mend("save the file as UTF-8 in the editor")
    })?;
    if let Some(place) = text.find('\0') {
        return Err(Finding::at(
            file,
            &text,
            place..place + 1,
            "holds a zero byte, which no text has",
        )
        .mend("save the file as UTF-8 in the editor"));
    }
    Ok(text
        .strip_prefix('\u{feff}')
        .map(str::to_owned)
        .unwrap_or(text))
}

/// All files of a folder, and those of the program that it lacks or adds to, in the order of their
/// paths; of two that have one path, the author's comes second.
fn walk(layers: &Layers<'_>, findings: &mut Vec<Finding>) -> Vec<Found> {
    let own = if layers.may_be_missing && !layers.folder.exists() {
        Vec::new()
    } else {
        walk_disk(layers.folder, findings)
    };
    let named: BTreeSet<&str> = own.iter().map(|found| found.path.as_str()).collect();
    let adds = |path: &str| layers.adding.is_some_and(|folder| path.starts_with(folder));
    let below = layers.inside.iter();
    let mut all: Vec<Found> = below
        .filter(|(path, _)| !named.contains(path.as_str()) || adds(path))
        .map(|(path, bytes)| {
            let file = format!("shipped {}/{path}", layers.usual);
            Found::new(Place::Program(bytes), file, path.clone())
        })
        .collect();
    all.extend(own);
    // Part by part, as a walk goes: a folder's files stand together.
    all.sort_by(|a, b| a.path.split('/').cmp(b.path.split('/')));
    all
}

fn walk_disk(root: &Path, findings: &mut Vec<Finding>) -> Vec<Found> {
    let shown_root = root.display().to_string().replace('\\', "/");
    let Ok(real_root) = root.canonicalize() else {
        findings.push(
            Finding::whole(&shown_root, "there is no such folder")
                .mend("run forerun from the folder that holds it, or name it"),
        );
        return Vec::new();
    };
    let mut all = Vec::new();
    let entries = WalkDir::new(root)
        .sort_by_file_name()
        .into_iter()
        // Files whose name begins with a dot belong to editors and to version control.
        .filter_entry(|entry| {
            entry.depth() == 0 || !entry.file_name().to_string_lossy().starts_with('.')
        });
    for entry in entries {
        let entry = match entry {
            Ok(entry) => entry,
            Err(error) => {
                findings.push(Finding::whole(
                    &shown_root,
                    format!("cannot be read: {error}"),
                ));
                continue;
            }
        };
        if entry.file_type().is_dir() {
            continue;
        }
        let inside = entry.path().strip_prefix(root).unwrap_or(entry.path());
        let Some(path) = inside.to_str().map(|path| path.replace('\\', "/")) else {
            findings.push(
                Finding::whole(
                    &format!("{shown_root}/{}", inside.to_string_lossy()),
                    "has a name that is not UTF-8",
                )
                .mend("rename it in lower-case letters, digits and hyphens"),
            );
            continue;
        };
        let file = format!("{shown_root}/{path}");
        if entry.file_type().is_symlink()
            && let Some(finding) = link_trouble(entry.path(), &file, &real_root)
        {
            findings.push(finding);
            continue;
        }
        all.push(Found::new(Place::Disk(entry.into_path()), file, path));
    }
    all
}

/// A symbolic link may point at a file of the same folder, and nowhere else.
fn link_trouble(link: &Path, file: &str, real_root: &Path) -> Option<Finding> {
    let finding = match link.canonicalize() {
        Err(_) => Finding::whole(file, "is a symbolic link to nothing"),
        Ok(target) if !target.starts_with(real_root) => {
            Finding::whole(file, "is a symbolic link out of its folder")
        }
        Ok(target) if target.is_dir() => Finding::whole(file, "is a symbolic link to a folder"),
        Ok(_) => return None,
    };
    Some(finding.mend("put a copy of the file there instead"))
}

/// Says why a file's path cannot become part of an address.
fn unservable(found: &Found) -> Option<Finding> {
    let path = found.path.strip_suffix(&format!(".{}", found.ending));
    for part in path.unwrap_or(&found.path).split('/') {
        let Some(reason) = name_trouble(part) else {
            continue;
        };
        return Some(
            Finding::whole(
                &found.file,
                format!("the name `{}` {reason}", shorten(part)),
            )
            .mend(format!("call it `{}`", slug(part, "page"))),
        );
    }
    None
}

/// Why `name` would not do as part of an address, if so.
pub fn name_trouble(name: &str) -> Option<String> {
    const RESERVED: &[&str] = &["con", "prn", "aux", "nul"];
    let numbered = name.len() == 4
        && (name.starts_with("com") || name.starts_with("lpt"))
        && name.ends_with(|c: char| c.is_ascii_digit());
    if name.is_empty() {
        Some("is empty".into())
    } else if name.len() > NAME_LIMIT {
        Some(format!("is longer than {NAME_LIMIT} characters"))
    } else if RESERVED.contains(&name) || numbered {
        Some("is a device on some systems, and cannot be a file there".into())
    } else if !name
        .bytes()
        .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
    {
        Some("holds something besides lower-case letters, digits and hyphens".into())
    } else if name.starts_with('-') || name.ends_with('-') {
        Some("begins or ends with a hyphen".into())
    } else {
        None
    }
}

/// Turns words into a name for an address or an anchor.
pub fn slug(words: &str, lacking: &str) -> String {
    let mut name = String::with_capacity(words.len());
    for c in words.chars().flat_map(char::to_lowercase) {
        if c.is_ascii_alphanumeric() {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    name.truncate(NAME_LIMIT);
    let name = name.trim_matches('-');
    if name.is_empty() {
        lacking.to_owned()
    } else if name_trouble(name).is_some() {
        format!("{lacking}-{name}")
    } else {
        name.to_owned()
    }
}

fn shorten(name: &str) -> String {
    if name.chars().count() > 40 {
        name.chars().take(40).chain(['…']).collect()
    } else {
        name.to_owned()
    }
}

fn in_words(bytes: u64) -> String {
    if bytes >= 1024 * 1024 {
        format!("{} MiB", bytes / (1024 * 1024))
    } else {
        format!("{} KiB", bytes / 1024)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_where_bytes_stop_being_text() {
        let finding = decode("a.md", b"one\ntwo \xff".to_vec()).expect_err("a finding");
        assert_eq!((finding.line, finding.column), (2, 5));
        assert!(finding.message.contains("0xff"));
        assert!(decode("a.md", b"a\0b".to_vec()).is_err());
        assert_eq!(decode("a.md", "\u{feff}ä".into()), Ok("ä".into()));
    }

    #[test]
    fn knows_names_that_cannot_be_served() {
        for bad in ["", "con", "lpt1", "a b", "Über", "a/b", "-a", "a.b", "a\nb"] {
            assert!(name_trouble(bad).is_some(), "{bad:?}");
        }
        assert!(name_trouble(&"a".repeat(65)).is_some());
        for good in ["a", "vacuum-distillation", "2", "com", "console"] {
            assert_eq!(name_trouble(good), None);
        }
    }

    #[test]
    fn makes_names_from_words() {
        assert_eq!(
            slug("Heating baths, and what they do", "x"),
            "heating-baths-and-what-they-do"
        );
        assert_eq!(slug("—", "part"), "part");
        assert_eq!(slug("CON", "page"), "page-con");
    }
}
