//! Serves a finished site on this machine and nothing else, and sees when an author saves.
//!
//! A page that is open loads itself again when the site has been written anew. When it could not
//! be written, every page shows the findings instead, until they are mended. What the preview
//! adds for this (the folder `preview/`) stands under `/.preview/` and in the pages as they are
//! sent; the site on the disk stays as it was built.

use crate::finding::{Finding, Severity};
use crate::offline::WORKER;
use crate::source::Folders;
use calc_wasm::report::escape;
use std::collections::hash_map::DefaultHasher;
use std::fs;
use std::hash::{Hash, Hasher};
use std::io;
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime};
use tiny_http::{Header, Method, Request, Response, Server};
use walkdir::WalkDir;

/// Often enough that a saved page is there before one has turned to the browser.
const LOOK_EVERY: Duration = Duration::from_millis(40);

const SCRIPT: &str = include_str!("preview/script.js");
const STYLE: &str = include_str!("preview/style.css");
/// Goes before the site's own worker.
const BEFORE_WORKER: &str = include_str!("preview/worker.js");
/// The policy of the page of findings: nothing but the preview's own files.
const POLICY: &str =
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'";

/// A server that is listening.
pub struct Preview {
    server: Server,
    folder: PathBuf,
    state: Mutex<State>,
}

/// What the last build came to.
struct State {
    /// Another number after each build, and after a new start.
    round: u128,
    /// The findings that kept the site from being written, as HTML.
    trouble: Option<String>,
    /// Pages that wait for news.
    waiting: Vec<Request>,
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
        let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
        Ok(Self {
            server,
            folder: folder.to_owned(),
            state: Mutex::new(State {
                round: now.map_or(0, |since| since.as_micros()),
                trouble: None,
                waiting: Vec::new(),
            }),
        })
    }

    /// Where the site is: `http://127.0.0.1:8750/`.
    pub fn address(&self) -> String {
        format!("http://{}/", self.server.server_addr())
    }

    /// Tells every open page that there has been a build, and what kept the site from being
    /// written, if anything did.
    pub fn built(&self, outcome: Result<(), &[Finding]>) {
        let (round, waiting) = {
            let mut state = self.state();
            state.round += 1;
            state.trouble = outcome.err().map(listed);
            (state.round, std::mem::take(&mut state.waiting))
        };
        for request in waiting {
            // A page that was left meanwhile does not answer; that is no fault.
            let _ = request.respond(news(round));
        }
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

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn answer(&self, request: Request) -> io::Result<()> {
        if !matches!(request.method(), Method::Get | Method::Head) {
            return request.respond(words(404, "There is no such page."));
        }
        let url = request.url().to_owned();
        let (path, query) = url.split_once('?').unwrap_or((&url, ""));
        match path {
            "/.preview/script.js" => return request.respond(sent(SCRIPT, "a.js")),
            "/.preview/style.css" => return request.respond(sent(STYLE, "a.css")),
            "/.preview/news" => return self.wait(request, query),
            _ => {}
        }
        let page = asks_for_a_page(&request);
        let (round, trouble) = {
            let state = self.state();
            (state.round, state.trouble.clone().filter(|_| page))
        };
        if let Some(list) = trouble {
            let html = trouble_page(&list, round);
            let policy = header("Content-Security-Policy", POLICY);
            let answer = sent(html, "a.html").with_header(policy);
            return request.respond(answer.with_status_code(503));
        }
        let Some(inside) = inside(&url) else {
            return request.respond(words(404, "There is no such page."));
        };
        let mut file = self.folder.join(inside);
        if file.is_dir() {
            if !path.ends_with('/') {
                let there = header("Location", &format!("{url}/"));
                return request
                    .respond(words(308, "The page has a slash at its end.").with_header(there));
            }
            file = file.join("index.html");
        }
        match fs::read(&file) {
            Ok(bytes) if file == self.folder.join(WORKER) => {
                let worker = [BEFORE_WORKER.as_bytes(), &bytes].concat();
                request.respond(sent(worker, WORKER))
            }
            // Asked for by the worker, a page must be just what was built.
            Ok(bytes) if page && kind(&file).starts_with("text/html") => {
                request.respond(sent(awake(&bytes, round), "a.html"))
            }
            Ok(bytes) => request.respond(sent(bytes, file)),
            Err(_) => request.respond(words(404, "There is no such page.")),
        }
    }

    /// Answers at once if there is news since the round in `query`, else after the next build.
    fn wait(&self, request: Request, query: &str) -> io::Result<()> {
        let mut state = self.state();
        let seen = query.strip_prefix("round=");
        if seen == Some(state.round.to_string().as_str()) {
            state.waiting.push(request);
            return Ok(());
        }
        let round = state.round;
        drop(state);
        request.respond(news(round))
    }
}

/// Whether somebody wants to look at a page, and not a script or the worker to keep it.
///
/// Source: W3C, Fetch Metadata Request Headers, `Sec-Fetch-Dest`. A program that does not send
/// it is taken for a reader.
fn asks_for_a_page(request: &Request) -> bool {
    let field = |name: &'static str| {
        let mut all = request.headers().iter();
        all.find(|header| header.field.equiv(name))
            .map(|header| header.value.as_str())
    };
    field("Preview").is_some() || field("Sec-Fetch-Dest").is_none_or(|wanted| wanted == "document")
}

fn script(round: u128) -> String {
    format!("<script type=\"module\" src=\"/.preview/script.js?round={round}\"></script>")
}

/// A page that loads itself again.
fn awake(html: &[u8], round: u128) -> Vec<u8> {
    let html = String::from_utf8_lossy(html);
    html.replacen("</head>", &(script(round) + "</head>"), 1)
        .into_bytes()
}

fn trouble_page(list: &str, round: u128) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>The site could not be written</title>\n<link rel=\"stylesheet\" href=\"/.preview/style.css\">\n{}\n</head>\n<body>\n<main>\n<h1>The site could not be written</h1>\n<p>The one before it stands as it was. This page makes way as soon as all is mended and saved.</p>\n{list}</main>\n</body>\n</html>\n",
        script(round)
    )
}

/// Findings as a list: each with its place, the line as written, and what would be right.
fn listed(findings: &[Finding]) -> String {
    let mut html = String::from("<ol>\n");
    for finding in findings {
        let word = match finding.severity {
            Severity::Error => "error",
            Severity::Note => "note",
        };
        let (place, message) = (escape(&finding.place()), escape(&finding.message));
        html.push_str(&format!(
            "<li class=\"{word}\"><p class=\"place\">{place}</p><p class=\"message\">{message}</p>"
        ));
        if let Some(excerpt) = &finding.excerpt {
            let (line, marks) = (escape(&excerpt.line), &excerpt.marks);
            html.push_str(&format!("<pre>{line}\n{marks}</pre>"));
        }
        if let Some(mend) = &finding.mend {
            html.push_str(&format!("<p class=\"mend\">{}</p>", escape(mend)));
        }
        html.push_str("</li>\n");
    }
    html + "</ol>\n"
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

type Answer = Response<io::Cursor<Vec<u8>>>;

/// `content`, which is what a file of this name would be.
fn sent(content: impl Into<Vec<u8>>, name: impl AsRef<Path>) -> Answer {
    Response::from_data(content)
        .with_header(header("Content-Type", kind(name.as_ref())))
        .with_header(header("Cache-Control", "no-cache"))
        .with_header(header("X-Content-Type-Options", "nosniff"))
}

fn words(status: u16, text: &str) -> Answer {
    sent(text, "a.txt").with_status_code(status)
}

fn news(round: u128) -> Answer {
    words(200, &round.to_string())
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
        "txt" => "text/plain; charset=utf-8",
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
