//! Serves a finished site on this machine and nothing else, and sees when an author saves.
//!
//! A page that is open loads itself again when the site has been built anew. When it could not
//! be built, every page shows the findings instead, until they are mended. The files are served as
//! the build gives them, so that nobody waits for the disk. What the preview adds (the folder
//! `preview/`) stands under `/.preview/` and in the pages as they are sent; the site on the disk
//! is as it was built.

use crate::files::Files;
use crate::finding::{Finding, Severity};
use crate::output::offline::WORKER;
use crate::read::source::Folders;
use calc_wasm::markup::escape;
use oxhttp::model::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, LOCATION};
use oxhttp::model::header::{HeaderValue, X_CONTENT_TYPE_OPTIONS};
use oxhttp::model::{Body, Method, Request, Response, StatusCode};
use oxhttp::{ListeningServer, Server};
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime};
use walkdir::WalkDir;

/// Often enough that a saved page is there before one has turned to the browser.
const LOOK_EVERY: Duration = Duration::from_millis(40);
/// A page that waits for news asks again after this long; one that was left frees its place.
const PATIENCE: Duration = Duration::from_secs(20);

const SCRIPT: &str = include_str!("preview/script.js");
const STYLE: &str = include_str!("preview/style.css");
/// Goes before the site's own worker.
const BEFORE_WORKER: &str = include_str!("preview/worker.js");
/// The policy of the page of findings: nothing but the preview's own files.
const POLICY: &str =
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'";

/// A server that is listening.
pub struct Preview {
    desk: Arc<Desk>,
    address: SocketAddr,
    server: Mutex<Option<ListeningServer>>,
}

/// What the answers are made from.
struct Desk {
    state: Mutex<State>,
    /// Rings when there has been a build.
    bell: Condvar,
}

/// What the last build came to.
struct State {
    /// Another number after each build, and after a new start.
    round: u128,
    /// The findings that kept the site from being written, as HTML.
    trouble: Option<String>,
    /// The site as it was last built.
    files: Arc<Files>,
}

impl std::fmt::Debug for Preview {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.debug_struct("Preview")
            .field("address", &self.address)
            .finish_non_exhaustive()
    }
}

impl Preview {
    /// Listens on 127.0.0.1 and answers; port 0 takes any free one.
    ///
    /// # Errors
    /// The port is taken.
    pub fn listen(port: u16) -> io::Result<Self> {
        // The system names the port, and is asked for just that one again.
        let address = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?.local_addr()?;
        let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
        let desk = Arc::new(Desk {
            state: Mutex::new(State {
                round: now.map_or(0, |since| since.as_micros()),
                trouble: None,
                files: Arc::default(),
            }),
            bell: Condvar::new(),
        });
        let answering = Arc::clone(&desk);
        // A thread for each connection: a browser opens half a dozen and keeps them.
        let server = Server::new(move |request| answering.answer(request))
            .bind(address)
            .spawn()?;
        Ok(Self {
            desk,
            address,
            server: Mutex::new(Some(server)),
        })
    }

    /// Where the site is: `http://127.0.0.1:8750/`.
    pub fn address(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Tells every open page that there has been a build: the files to serve from now on, or what
    /// kept the site from being built or written.
    pub fn built(&self, outcome: Result<Arc<Files>, &[Finding]>) {
        let mut state = self.desk.state();
        state.round += 1;
        match outcome {
            Ok(files) => (state.files, state.trouble) = (files, None),
            Err(findings) => state.trouble = Some(listed(findings)),
        }
        self.desk.bell.notify_all();
    }

    /// Waits until the process ends. Never fails: a request that breaks is the browser's.
    pub fn serve(&self) {
        let server = self.server.lock().map(|mut server| server.take());
        if let Ok(Some(server)) = server {
            let _ = server.join();
        }
    }
}

impl Desk {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn answer(&self, request: &Request<Body>) -> Response<Body> {
        let answer = match request.method() {
            &Method::GET | &Method::HEAD => self.look_up(request),
            _ => words(StatusCode::NOT_FOUND, "There is no such page."),
        };
        if request.method() == Method::HEAD {
            return answer.map(|_| Body::empty());
        }
        answer
    }

    fn look_up(&self, request: &Request<Body>) -> Response<Body> {
        let no_page = || words(StatusCode::NOT_FOUND, "There is no such page.");
        let path = request.uri().path();
        match path {
            "/.preview/script.js" => return sent(SCRIPT, "a.js"),
            "/.preview/style.css" => return sent(STYLE, "a.css"),
            "/.preview/news" => return self.wait(request.uri().query().unwrap_or_default()),
            _ => {}
        }
        let page = asks_for_a_page(request);
        let (round, trouble, files) = {
            let state = self.state();
            let trouble = state.trouble.clone().filter(|_| page);
            (state.round, trouble, Arc::clone(&state.files))
        };
        if let Some(list) = trouble {
            let mut answer = sent(trouble_page(&list, round), "a.html");
            let policy = HeaderValue::from_static(POLICY);
            answer.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
            *answer.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
            return answer;
        }
        // Names of the site hold nothing that needs an escape.
        let name = path.strip_prefix('/').unwrap_or_default();
        if files.contains_key(&format!("{name}/index.html")) {
            let mut answer = words(
                StatusCode::PERMANENT_REDIRECT,
                "The page has a slash at its end.",
            );
            let Ok(there) = HeaderValue::try_from(format!("{path}/")) else {
                return no_page();
            };
            answer.headers_mut().insert(LOCATION, there);
            return answer;
        }
        let name = match name {
            folder if folder.is_empty() || folder.ends_with('/') => format!("{folder}index.html"),
            file => file.to_owned(),
        };
        match files.get(&name) {
            Some(bytes) if name == WORKER => {
                sent([BEFORE_WORKER.as_bytes(), bytes].concat(), WORKER)
            }
            // Asked for by the worker, a page must be just what was built.
            Some(bytes) if page && kind(&name).starts_with("text/html") => {
                sent(awake(bytes, round), "a.html")
            }
            Some(bytes) => sent(bytes.clone(), &name),
            None => no_page(),
        }
    }

    /// Answers at once if there is news since the round in `query`, else after the next build.
    fn wait(&self, query: &str) -> Response<Body> {
        let seen = query.strip_prefix("round=").unwrap_or_default();
        let round = |state: &State| state.round.to_string();
        let (state, _) = self
            .bell
            .wait_timeout_while(self.state(), PATIENCE, |state| round(state) == seen)
            .unwrap_or_else(PoisonError::into_inner);
        words(StatusCode::OK, &round(&state))
    }
}

/// Whether somebody wants to look at a page, and not a script or the worker to keep it.
///
/// Source: W3C, Fetch Metadata Request Headers, `Sec-Fetch-Dest`. A program that does not send
/// it is taken for a reader.
fn asks_for_a_page(request: &Request<Body>) -> bool {
    let field = |name| request.headers().get(name).map(HeaderValue::as_bytes);
    field("Preview").is_some() || field("Sec-Fetch-Dest").is_none_or(|wanted| wanted == b"document")
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

/// `content`, which is what a file of this name would be.
fn sent(content: impl Into<Body>, name: &str) -> Response<Body> {
    let mut answer = Response::new(content.into());
    for (field, value) in [
        (CONTENT_TYPE, kind(name)),
        (CACHE_CONTROL, "no-cache"),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
    ] {
        let value = HeaderValue::from_static(value);
        answer.headers_mut().insert(field, value);
    }
    answer
}

fn words(status: StatusCode, text: &str) -> Response<Body> {
    let mut answer = sent(text.to_owned(), "a.txt");
    *answer.status_mut() = status;
    answer
}

/// What a file is, by its ending.
fn kind(file: &str) -> &'static str {
    match file.rsplit_once('.').map_or("", |(_, ending)| ending) {
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
    use std::fs;

    #[test]
    fn notices_a_saved_file() {
        let folder = std::env::temp_dir().join(format!("forerun-glance-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder");
        let folders = Folders {
            content: folder.clone(),
            templates: folder.join("t"),
            published: folder.join("p"),
            ..Folders::default()
        };
        let before = glance(&folders);
        assert_eq!(glance(&folders), before);
        fs::write(folder.join("a.md"), "text").expect("a file");
        assert_ne!(glance(&folders), before);
        fs::remove_dir_all(&folder).expect("tidied");
    }

    #[test]
    fn names_kinds_by_their_registered_types() {
        assert_eq!(kind("calc.00.wasm"), "application/wasm");
        assert_eq!(kind("manifest.webmanifest"), "application/manifest+json");
    }
}
