//! Serves a finished site on this machine and nothing else, and sees when an author saves.
//!
//! A page that is open loads itself again when the site has been built anew. When it could not
//! be built, the pages stay as they were last, with the findings over the page they belong to,
//! until they are mended. The files are served as the build gives them, so that nobody waits for
//! the disk. What the preview adds (the folder `preview/`) stands under `/.preview/` and in the
//! pages as they are sent; the site on the disk is as it was built.

mod trouble;
pub mod watch;

use crate::files::Files;
use crate::finding::Finding;
use crate::output::offline::WORKER;
use oxhttp::model::header::{ALLOW, CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HOST};
use oxhttp::model::header::{HeaderValue, LOCATION, X_CONTENT_TYPE_OPTIONS};
use oxhttp::model::{Body, Method, Request, Response, StatusCode};
use oxhttp::{ListeningServer, Server};
use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime};
use trouble::Trouble;

/// Each connection has a thread: a browser opens half a dozen and keeps them.
const MOST_CONNECTIONS: usize = 64;
/// A connection on which nothing comes for so long makes way for others.
const SILENCE: Duration = Duration::from_secs(5);
/// What this machine is called, as seen from itself.
const OWN_NAMES: [&str; 3] = ["localhost", "127.0.0.1", "[::1]"];
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
    /// Where the pages are written.
    content: PathBuf,
    port: u16,
    state: Mutex<State>,
    /// Rings when there has been a build.
    bell: Condvar,
}

/// What the last build came to.
struct State {
    /// Another number after each build, and after a new start.
    round: u128,
    /// The findings that kept the site from being written.
    trouble: Option<Arc<Trouble>>,
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
    /// Listens on 127.0.0.1 and answers; port 0 takes any free one. The pages are written in
    /// `content`.
    ///
    /// # Errors
    /// The port is taken.
    pub fn listen(port: u16, content: &Path) -> io::Result<Self> {
        // The system names the port, and is asked for just that one again.
        let address = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?.local_addr()?;
        let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
        let desk = Arc::new(Desk {
            content: content.to_owned(),
            port: address.port(),
            state: Mutex::new(State {
                round: now.map_or(0, |since| since.as_micros()),
                trouble: None,
                files: Arc::default(),
            }),
            bell: Condvar::new(),
        });
        let answering = Arc::clone(&desk);
        let server = Server::new(move |request| answering.answer(request))
            .with_max_concurrent_connections(MOST_CONNECTIONS)
            .with_global_timeout(SILENCE)
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
            Err(findings) => {
                let trouble = Trouble::new(findings, &self.desk.content);
                state.trouble = Some(Arc::new(trouble));
            }
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
        if !self.is_own(request) {
            return words(
                StatusCode::MISDIRECTED_REQUEST,
                "The preview answers to localhost and 127.0.0.1 with its own port, and to no other name.",
            );
        }
        if request.method() == Method::GET {
            return self.look_up(request);
        }
        // The library states the length of what it sends, so it cannot answer to HEAD.
        let mut answer = words(StatusCode::METHOD_NOT_ALLOWED, "Ask with GET.");
        let allowed = HeaderValue::from_static("GET");
        answer.headers_mut().insert(ALLOW, allowed);
        answer
    }

    /// Whether the request was meant for this server: another site's script that has its name lead
    /// to this machine (DNS rebinding) would read the drafts.
    fn is_own(&self, request: &Request<Body>) -> bool {
        let host = request.headers().get(HOST);
        let host = host.and_then(|host| host.to_str().ok());
        let (name, port) = match host.and_then(|host| host.rsplit_once(':')) {
            Some((name, port)) => (name, port.parse().ok()),
            None => (host.unwrap_or_default(), Some(80)),
        };
        OWN_NAMES.iter().any(|own| name.eq_ignore_ascii_case(own)) && port == Some(self.port)
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
                let address = name.strip_suffix("index.html").unwrap_or(&name);
                let over = trouble.map(|trouble| trouble.over(address));
                sent(awake(bytes, over.as_deref(), round), "a.html")
            }
            Some(bytes) => sent(bytes.clone(), &name),
            None => trouble.map_or_else(no_page, |trouble| nothing_but(&trouble, round)),
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

/// A page that loads itself again, with what is wrong over it.
fn awake(html: &[u8], over: Option<&str>, round: u128) -> Vec<u8> {
    let html = String::from_utf8_lossy(html);
    let mut head = script(round);
    let Some(over) = over else {
        return html
            .replacen("</head>", &(head + "</head>"), 1)
            .into_bytes();
    };
    head += "<link rel=\"stylesheet\" href=\"/.preview/style.css\"></head>";
    let mut html = html.replacen("</head>", &head, 1);
    let body = html
        .find("<body")
        .and_then(|at| Some(at + html[at..].find('>')? + 1));
    if let Some(at) = body {
        html.insert_str(at, over);
    }
    html.into_bytes()
}

/// The findings in place of a page that was never built.
fn nothing_but(trouble: &Trouble, round: u128) -> Response<Body> {
    let mut answer = sent(trouble.page(&script(round)), "a.html");
    let policy = HeaderValue::from_static(POLICY);
    answer.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
    *answer.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
    answer
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

    #[test]
    fn names_kinds_by_their_registered_types() {
        assert_eq!(kind("calc.00.wasm"), "application/wasm");
        assert_eq!(kind("manifest.webmanifest"), "application/manifest+json");
    }
}
