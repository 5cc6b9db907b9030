//! The preview: an open page follows what the author saves, and shows what is wrong with it.

use std::fs;
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
        let preview: &Preview = Box::leak(Box::new(Preview::listen(0).expect("a free port")));
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
        let text = format!("---\ntitle: Baths\nkind: page\nsummary: S.\n---\n\n{body}\n");
        fs::write(self.root.join("content/baths.md"), text).expect("a page");
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
fn findings_are_shown_in_place_of_every_page() {
    let desk = Desk::new("findings");
    desk.save("Text.");
    desk.save("See <b>, and [the other](page:bath).");
    for path in ["", "baths/", "calculators/", "no-such-page/"] {
        let (status, html, policy) = desk.get(path, &[]);
        assert_eq!(status, 503, "{path}");
        let place = format!("{}:7:14", desk.folders.content.join("baths.md").display());
        for part in [
            place.as_str(),
            "there is no page `bath`",
            "<pre>See &lt;b&gt;, and [the other](page:bath).\n             ^^^^^",
            "the nearest is `baths`",
            "src=\"/.preview/script.js?round=",
        ] {
            assert!(html.contains(part), "{part} is missing in\n{html}");
        }
        // The policy allows no inline script and no other host; the page has neither.
        assert!(
            policy.starts_with("default-src 'none'; script-src 'self';"),
            "{policy}"
        );
        assert!(!html.contains("<b>") && !html.contains("style="), "{html}");
        assert!(html.matches("<script").count() == 1 && html.contains("></script>"));
    }
    desk.save("Mended.");
    let (status, html, _) = desk.get("baths/", &[]);
    assert!(status == 200 && html.contains("Mended."), "{html}");
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
            &format!("return document.querySelector('main').textContent.includes({what:?})"),
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
