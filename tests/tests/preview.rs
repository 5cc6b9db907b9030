//! The preview: an open page follows what the author saves, and shows what is wrong with it.

use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use forerun_tests::browser::Browser;
use site_builder::build_again;
use site_builder::command::preview::Preview;
use site_builder::markdown::kept::Kept;
use site_builder::output::wasm::{Bound, Module};
use site_builder::output::write;
use site_builder::read::source::Folders;

/// A site of one page with its preview.
struct Desk {
    root: PathBuf,
    folders: Folders,
    preview: &'static Preview,
    kept: Mutex<Kept>,
}

impl Desk {
    fn new(name: &str) -> Self {
        let root = std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
        fs::create_dir_all(root.join("content")).expect("a folder");
        let repository = forerun_tests::root();
        let folders = Folders {
            content: root.join("content"),
            templates: repository.join("templates"),
            published: root.join("published"),
            ..Folders::default()
        };
        // It serves until the test's process ends.
        let preview = Preview::listen(0, &folders.content).expect("a free port");
        let preview: &Preview = Box::leak(Box::new(preview));
        std::thread::spawn(|| preview.serve());
        Desk {
            root,
            folders,
            preview,
            kept: Mutex::default(),
        }
    }

    /// Saves the page and does what the preview does then.
    fn save(&self, body: &str) {
        self.save_as("baths", body);
    }

    fn save_as(&self, name: &str, body: &str) {
        let text = format!("---\ntitle: Page {name}\nkind: page\nsummary: S.\n---\n\n{body}\n");
        fs::write(self.root.join(format!("content/{name}.md")), text).expect("a page");
        let module = Module {
            results: Bound {
                script: "export default function () {}".into(),
                wasm: b"\0asm\x01\0\0\0".to_vec(),
            },
            ..Module::default()
        };
        let mut kept = self.kept.lock().expect("one save at a time");
        match build_again(&self.folders, &module, Some(&mut kept)) {
            Ok(built) => {
                let files = Arc::new(built.files);
                self.preview.built(Ok(Arc::clone(&files)));
                write::site(&self.root.join("public"), &files).expect("written");
            }
            Err(findings) => self.preview.built(Err(&findings)),
        }
    }

    fn get(&self, path: &str, headers: &[(&str, &str)]) -> (u16, String, String) {
        let address = format!("{}{path}", self.preview.address());
        let agent: ureq::Agent = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .build()
            .into();
        let mut request = agent.get(&address);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let mut answer = request.call().expect("an answer");
        let policy = answer.headers().get("content-security-policy");
        let policy = policy.map_or(String::new(), |value| {
            value.to_str().expect("text").to_owned()
        });
        let body = answer.body_mut().read_to_string().expect("text");
        (answer.status().as_u16(), body, policy)
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.root);
    }
}

#[test]
fn findings_stand_over_the_page_they_belong_to() {
    let desk = Desk::new("findings");
    desk.save("Text of before.");
    desk.save_as("ovens", "Other text.");
    desk.save("See <b>, and [the other](page:bath).");
    let (status, html, _) = desk.get("baths/", &[]);
    assert_eq!(status, 200);
    let place = format!("{}:7:14", desk.folders.content.join("baths.md").display());
    for part in [
        place.as_str(),
        "there is no page `bath`",
        "<pre>See &lt;b&gt;, and [the other](page:bath).\n             ^^^^^",
        "the nearest is `baths`",
        "src=\"/.preview/script.js?round=",
        "Text of before.",
    ] {
        assert!(html.contains(part), "{part} is missing in\n{html}");
    }
    // The policy of the page allows no inline script and no other host; what is added has neither.
    let over = html
        .split("<aside class=\"preview-trouble\"")
        .nth(1)
        .expect("the findings");
    let over = over.split("</aside>").next().expect("their end");
    assert!(
        !over.contains("<b>") && !over.contains("style=") && !over.contains("<script"),
        "{over}"
    );
    // The other pages stay readable, and say where to look.
    for path in ["ovens/", "calculators/"] {
        let (status, html, _) = desk.get(path, &[]);
        assert_eq!(status, 200, "{path}");
        assert!(html.contains("<a href=\"/baths/\">baths/</a>"), "{html}");
        assert!(!html.contains("there is no page `bath`"));
    }
    assert!(desk.get("ovens/", &[]).1.contains("Other text."));
    desk.save("Mended.");
    for path in ["baths/", "ovens/"] {
        let (status, html, _) = desk.get(path, &[]);
        assert!(status == 200 && !html.contains("preview-trouble"), "{html}");
    }
}

/// A page that was never built has nothing but its findings.
#[test]
fn findings_are_a_page_where_there_is_none() {
    let desk = Desk::new("no-page");
    desk.save("[the other](page:bath)");
    for path in ["", "baths/", "no-such-page/"] {
        let (status, html, policy) = desk.get(path, &[]);
        assert_eq!(status, 503, "{path}");
        assert!(html.contains("there is no page `bath`"), "{html}");
        assert!(
            policy.starts_with("default-src 'none'; script-src 'self';"),
            "{policy}"
        );
        assert!(html.matches("<script").count() == 1 && html.contains("></script>"));
    }
}

/// Another site's script must not read drafts by letting its own name lead to this machine (DNS
/// rebinding). 421: RFC 9110, section 15.5.20.
#[test]
fn answers_to_its_own_names_only() {
    let desk = Desk::new("names");
    desk.save("Text.");
    let address = desk.preview.address();
    let port = address
        .trim_end_matches('/')
        .rsplit(':')
        .next()
        .expect("a port");
    let asked = |host: &str| {
        let mut stream = TcpStream::connect(format!("127.0.0.1:{port}")).expect("a connection");
        write!(
            stream,
            "GET /baths/ HTTP/1.1\r\n{host}Connection: close\r\n\r\n"
        )
        .expect("sent");
        let mut answer = String::new();
        let _ = stream.read_to_string(&mut answer);
        answer
    };
    for own in ["localhost", "LOCALHOST", "127.0.0.1", "[::1]"] {
        let answer = asked(&format!("Host: {own}:{port}\r\n"));
        assert!(
            answer.starts_with("HTTP/1.1 200") && answer.contains("Text."),
            "{own}: {answer}"
        );
    }
    for other in [
        "evil.example",
        "localhost",
        "localhost:1",
        "localhost.evil.example",
        "evil.example:localhost",
    ] {
        let answer = asked(&format!("Host: {other}\r\n"));
        assert!(answer.starts_with("HTTP/1.1 421"), "{other}: {answer}");
        assert!(
            answer.contains("to no other name") && !answer.contains("Text."),
            "{answer}"
        );
    }
    let answer = asked(&format!("Host: evil.example:{port}\r\n"));
    assert!(answer.starts_with("HTTP/1.1 421"), "{answer}");
    assert!(!asked("").contains("Text."));
}

/// HEAD is refused, with what is allowed (RFC 9110, section 15.5.6), and no length is claimed that
/// is not so.
#[test]
fn head_is_refused_rather_than_answered_wrongly() {
    let desk = Desk::new("head");
    desk.save("Text.");
    let agent: ureq::Agent = ureq::Agent::config_builder()
        .http_status_as_error(false)
        .build()
        .into();
    let answer = agent
        .head(&format!("{}baths/", desk.preview.address()))
        .call();
    let answer = answer.expect("an answer");
    assert_eq!(answer.status().as_u16(), 405);
    assert_eq!(
        answer.headers().get("allow").map(|it| it.as_bytes()),
        Some(&b"GET"[..])
    );
}

/// A thousand connections on which nothing is asked neither fill the machine with threads nor keep
/// a reader away for long.
#[test]
fn connections_are_limited() {
    let desk = Desk::new("many");
    desk.save("Text.");
    let address = desk.preview.address();
    let place = address.trim_start_matches("http://").trim_end_matches('/');
    let silent: Vec<TcpStream> = (0..300)
        .filter_map(|_| TcpStream::connect(place).ok())
        .collect();
    assert!(silent.len() > 200, "{}", silent.len());
    std::thread::sleep(std::time::Duration::from_millis(300));
    if let Ok(tasks) = fs::read_dir("/proc/self/task") {
        let threads = tasks.count();
        assert!(threads < 200, "{threads} threads");
    }
    drop(silent);
    assert_eq!(desk.get("baths/", &[]).0, 200);
}

#[test]
fn nothing_but_the_site_is_served() {
    let desk = Desk::new("inside");
    desk.save("Text.");
    fs::write(desk.root.join("secret"), "not for readers").expect("a file");
    for path in [
        "../secret",
        "%2e%2e/secret",
        "baths/../../secret",
        ".gitignore",
        "no-such-page/",
    ] {
        assert_eq!(desk.get(path, &[]).0, 404, "{path}");
    }
    // An address without its slash leads to the page all the same.
    let (status, html, _) = desk.get("baths", &[]);
    assert!(status == 200 && html.contains("Text."), "{html}");
    assert_eq!(desk.get("worker.js", &[]).0, 200);
}

#[test]
fn what_the_preview_adds_is_not_in_the_site() {
    let desk = Desk::new("adds");
    desk.save("Text.");
    let written = fs::read_to_string(desk.root.join("public/baths/index.html")).expect("a page");
    assert!(!written.contains(".preview"));
    assert!(!Path::new(&desk.root.join("public/.preview")).exists());
    assert!(desk.get("baths/", &[]).1.contains("/.preview/script.js"));
    // The worker that keeps a page compares it with its fingerprint.
    let kept = desk.get("baths/", &[("Sec-Fetch-Dest", "empty")]).1;
    assert_eq!(kept, written);
    let worker = desk
        .get("worker.js", &[("Sec-Fetch-Dest", "serviceworker")])
        .1;
    assert!(worker.contains("stopImmediatePropagation") && worker.contains("const VERSION"));
    assert_eq!(desk.get(".preview/style.css", &[]).0, 200);
}

#[test]
fn an_open_page_follows_what_is_saved() {
    let desk = Desk::new("follows");
    desk.save("First.");
    let browser = Browser::open(900, 700);
    browser.go(&format!("{}baths/", desk.preview.address()));
    let shows = |what: &str| {
        browser.wait(
            what,
            &format!("return document.body.textContent.includes({what:?})"),
        );
    };
    shows("First.");
    browser.wait(
        "the worker",
        "return (await navigator.serviceWorker.ready).active?.state === 'activated'",
    );
    desk.save("Second.");
    shows("Second.");
    desk.save("[Nowhere](page:bath).");
    shows("there is no page `bath`");
    desk.save("Third.");
    shows("Third.");
    // The worker is there again, and a page it serves is still the one just built.
    browser.wait(
        "the worker",
        "return (await navigator.serviceWorker.ready).active?.state === 'activated'",
    );
    browser.reload();
    desk.save("Fourth.");
    shows("Fourth.");
    let complaints: Vec<String> = browser
        .complaints()
        .into_iter()
        // The answer that carries findings says 503; the module of these tests is no core.
        .filter(|said| !said.contains("503"))
        .collect();
    assert_eq!(complaints, Vec::<String>::new());
}
