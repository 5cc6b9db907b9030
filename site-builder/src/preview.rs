//! Serves a finished site on this machine and nothing else, and sees when an author saves.

use crate::source::Folders;
use std::collections::hash_map::DefaultHasher;
use std::fs;
use std::hash::{Hash, Hasher};
use std::io;
use std::path::{Component, Path, PathBuf};
use std::time::Duration;
use tiny_http::{Header, Method, Request, Response, Server};
use walkdir::WalkDir;

/// Often enough that a saved page is there before one has turned to the browser.
const LOOK_EVERY: Duration = Duration::from_millis(100);

/// A server that is listening.
pub struct Preview {
    server: Server,
    folder: PathBuf,
}

impl std::fmt::Debug for Preview {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.debug_struct("Preview")
            .field("folder", &self.folder)
            .finish_non_exhaustive()
    }
}

impl Preview {
    /// Listens on 127.0.0.1; port 0 takes any free one.
    ///
    /// # Errors
    /// The port is taken.
    pub fn listen(folder: &Path, port: u16) -> io::Result<Self> {
        let server = Server::http(("127.0.0.1", port)).map_err(io::Error::other)?;
        Ok(Self {
            server,
            folder: folder.to_owned(),
        })
    }

    /// Where the site is: `http://127.0.0.1:8750/`.
    pub fn address(&self) -> String {
        format!("http://{}/", self.server.server_addr())
    }

    /// Answers until the process ends. Never fails: a request that breaks is the browser's.
    pub fn serve(&self) {
        std::thread::scope(|scope| {
            for _ in 0..crate::workers().clamp(2, 8) {
                scope.spawn(|| {
                    while let Ok(request) = self.server.recv() {
                        let _ = self.answer(request);
                    }
                });
            }
        });
    }

    fn answer(&self, request: Request) -> io::Result<()> {
        let look = matches!(request.method(), Method::Get | Method::Head);
        let found = inside(request.url()).filter(|_| look);
        let Some(path) = found else {
            return request.respond(words(404, "There is no such page."));
        };
        let mut file = self.folder.join(&path);
        if file.is_dir() {
            if !request
                .url()
                .split(['?', '#'])
                .next()
                .unwrap_or_default()
                .ends_with('/')
            {
                let url = request.url().to_owned();
                let there = header("Location", &format!("{url}/"));
                return request
                    .respond(words(308, "The page has a slash at its end.").with_header(there));
            }
            file = file.join("index.html");
        }
        match fs::read(&file) {
            Ok(bytes) => request.respond(
                Response::from_data(bytes)
                    .with_header(header("Content-Type", kind(&file)))
                    .with_header(header("Cache-Control", "no-cache"))
                    .with_header(header("X-Content-Type-Options", "nosniff")),
            ),
            Err(_) => request.respond(words(404, "There is no such page.")),
        }
    }
}

/// A fingerprint of names, sizes and times of everything in `folders`; it changes when an
/// author saves something.
pub fn glance(folders: &Folders) -> u64 {
    let mut hash = DefaultHasher::new();
    for folder in [&folders.content, &folders.templates, &folders.published] {
        for entry in WalkDir::new(folder)
            .sort_by_file_name()
            .into_iter()
            .flatten()
        {
            entry.path().hash(&mut hash);
            if let Ok(facts) = entry.metadata() {
                facts.len().hash(&mut hash);
                facts.modified().ok().hash(&mut hash);
            }
        }
    }
    hash.finish()
}

/// Calls `build` each time something in `folders` changes, for ever.
pub fn watch(folders: &Folders, mut build: impl FnMut()) -> ! {
    let mut seen = glance(folders);
    loop {
        std::thread::sleep(LOOK_EVERY);
        let now = glance(folders);
        if now != seen {
            seen = now;
            build();
        }
    }
}

fn words(status: u16, text: &str) -> Response<io::Cursor<Vec<u8>>> {
    Response::from_string(text)
        .with_status_code(status)
        .with_header(header("Content-Type", "text/plain; charset=utf-8"))
}

fn header(name: &str, value: &str) -> Header {
    Header::from_bytes(name, value)
        .or_else(|()| Header::from_bytes("X-Left-Out", "1"))
        .expect("a fixed header is sound")
}

/// The path of an address inside the site; nothing for one that would lead out of it.
fn inside(url: &str) -> Option<PathBuf> {
    let path = url.split(['?', '#']).next()?.strip_prefix('/')?;
    // Names of the site hold nothing that needs an escape.
    if path.contains(['%', '\\', '\0']) || path.split('/').any(|part| part.starts_with('.')) {
        return None;
    }
    let path = PathBuf::from(path);
    path.components()
        .all(|part| matches!(part, Component::Normal(_)))
        .then_some(path)
}

/// What a file is, by its ending.
fn kind(file: &Path) -> &'static str {
    match file
        .extension()
        .and_then(|ending| ending.to_str())
        .unwrap_or_default()
    {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "wasm" => "application/wasm",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "webp" => "image/webp",
        "gif" => "image/gif",
        "avif" => "image/avif",
        "tsv" => "text/tab-separated-values; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn serves_the_site_and_nothing_outside_it() {
        for out in [
            "/../secret",
            "/a/../../b",
            "/%2e%2e/b",
            "/a\\b",
            "a",
            "/.gitignore",
            "//etc/passwd",
        ] {
            assert_eq!(inside(out), None, "{out}");
        }
        assert_eq!(inside("/techniques/x/?a=1"), Some("techniques/x/".into()));
        assert_eq!(inside("/"), Some("".into()));
    }

    #[test]
    fn notices_a_saved_file() {
        let folder = std::env::temp_dir().join(format!("forerun-glance-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder");
        let folders = Folders {
            content: folder.clone(),
            templates: folder.join("t"),
            published: folder.join("p"),
        };
        let before = glance(&folders);
        assert_eq!(glance(&folders), before);
        fs::write(folder.join("a.md"), "text").expect("a file");
        assert_ne!(glance(&folders), before);
        fs::remove_dir_all(&folder).expect("tidied");
    }

    #[test]
    fn names_kinds_by_their_registered_types() {
        assert_eq!(kind(Path::new("calc.00.wasm")), "application/wasm");
        assert_eq!(
            kind(Path::new("manifest.webmanifest")),
            "application/manifest+json"
        );
    }
}
