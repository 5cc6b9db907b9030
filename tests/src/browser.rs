//! A real browser, driven over the W3C WebDriver protocol, and the site served to it.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// A program that is stopped when the test ends, however it ends.
#[derive(Debug)]
pub struct Running(Child);

impl Running {
    /// Stops the program now.
    pub fn stop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.stop();
    }
}

/// Builds the demo site into `out` and serves it with the program itself; gives its address.
pub fn serve(out: &Path) -> (Running, String) {
    // Cargo makes sure that the program is there and fresh; a test run alone may not have built
    // it. It then becomes the program, so stopping the one stops the other.
    let mut child = Command::new(env!("CARGO"))
        .current_dir(crate::root())
        .args(["run", "--release", "--locked", "--quiet"])
        .args(["--package", "site-builder", "--"])
        .args(["preview", "--port", "0", "--out"])
        .arg(out)
        .stdout(Stdio::piped())
        .spawn()
        .expect("cargo starts");
    let address = said(&mut child, |line| {
        let at = line.find("http://")?;
        Some(line[at..].split_whitespace().next()?.to_string())
    });
    (Running(child), address)
}

/// The first line of the program's output in which `find` finds something.
fn said(child: &mut Child, find: impl Fn(&str) -> Option<String>) -> String {
    let output = child.stdout.take().expect("piped output");
    let mut lines = BufReader::new(output).lines();
    let found = lines
        .by_ref()
        .map_while(Result::ok)
        .find_map(|line| find(&line));
    // Whatever it says later must not fill the pipe.
    std::thread::spawn(move || lines.for_each(drop));
    found.expect("the program says where it listens")
}

/// One browser window.
#[derive(Debug)]
pub struct Browser {
    session: String,
    driver: Running,
    /// The browser itself.
    process: u64,
    profile: PathBuf,
    /// Whether the profile goes with the window.
    passing: bool,
}

impl Browser {
    /// Opens a window of this size, in pixels, in a profile of its own.
    pub fn open(width: u32, height: u32) -> Self {
        Self::started(None, width, height)
    }

    /// The same in a profile that stays, whatever becomes of the window.
    pub fn open_in(profile: &Path, width: u32, height: u32) -> Self {
        Self::started(Some(profile), width, height)
    }

    fn started(profile: Option<&Path>, width: u32, height: u32) -> Self {
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .spawn()
            .expect("chromedriver is installed; ./test.sh sees to it");
        let port = said(&mut driver, |line| {
            let rest = line.split("successfully on port ").nth(1)?;
            Some(rest.trim_end_matches('.').to_string())
        });
        let driver = Running(driver);
        let passing = profile.is_none();
        let profile = profile.map_or_else(
            || std::env::temp_dir().join(format!("forerun-browser-{}-{port}", std::process::id())),
            Path::to_path_buf,
        );
        let arguments = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            &format!("--window-size={width},{height}"),
            &format!("--user-data-dir={}", profile.display()),
        ]
        .map(str::to_string);
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "goog:chromeOptions": {"args": arguments},
            "goog:loggingPrefs": {"browser": "ALL"},
        }}});
        let root = format!("http://127.0.0.1:{port}/session");
        let answer = send(&root, &wanted);
        let id = answer["sessionId"].as_str().expect("a session").to_string();
        let browser = Browser {
            session: format!("{root}/{id}"),
            driver,
            process: answer["capabilities"]["goog:processID"]
                .as_u64()
                .expect("the number of a process"),
            profile,
            passing,
        };
        browser.post("timeouts", &json!({"script": 20_000}));
        browser
    }

    fn post(&self, path: &str, body: &Value) -> Value {
        send(&format!("{}/{path}", self.session), body)
    }

    /// Goes to an address.
    pub fn go(&self, address: &str) {
        self.post("url", &json!({"url": address}));
    }

    /// Makes the window just so wide and high, narrower than a window on a desk can be.
    pub fn phone(&self, width: u32, height: u32) {
        let size =
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": true});
        let command = json!({"cmd": "Emulation.setDeviceMetricsOverride", "params": size});
        self.post("goog/cdp/execute", &command);
    }

    /// Kills the browser as a crash would: nothing is asked to end.
    pub fn kill(mut self) {
        let _ = Command::new("kill")
            .args(["-9", &self.process.to_string()])
            .status();
        // It must be gone before its profile is opened again.
        self.driver.stop();
        std::thread::sleep(Duration::from_secs(1));
    }

    /// The page as it prints, a PDF.
    pub fn print(&self) -> Vec<u8> {
        let printed = self.post("print", &json!({"background": true}));
        let text = printed.as_str().expect("a PDF");
        let value = |byte: u8| match byte {
            b'A'..=b'Z' => Some(byte - b'A'),
            b'a'..=b'z' => Some(byte - b'a' + 26),
            b'0'..=b'9' => Some(byte - b'0' + 52),
            b'+' => Some(62),
            b'/' => Some(63),
            _ => None,
        };
        // Base 64 (RFC 4648, section 4).
        let digits: Vec<u8> = text.bytes().filter_map(value).collect();
        let bytes = digits.chunks(4).flat_map(|four| {
            let bits = four
                .iter()
                .fold(0_u32, |sum, digit| sum << 6 | u32::from(*digit));
            let bits = bits << (6 * (4 - four.len()));
            bits.to_be_bytes()[1..four.len()].to_vec()
        });
        bytes.collect()
    }

    /// Loads the page again.
    pub fn reload(&self) {
        self.post("refresh", &json!({}));
    }

    /// Lets the addresses of these patterns fail, whatever is kept; none lets all through.
    pub fn block(&self, patterns: &[&str]) {
        for (cmd, params) in [
            ("Network.enable", json!({})),
            (
                "Network.setBypassServiceWorker",
                json!({"bypass": !patterns.is_empty()}),
            ),
            ("Network.setCacheDisabled", json!({"cacheDisabled": true})),
            ("Network.setBlockedURLs", json!({"urls": patterns})),
        ] {
            self.command(cmd, &params);
        }
    }

    /// Gives the browser a command of the Chrome DevTools Protocol.
    pub fn command(&self, name: &str, params: &Value) {
        let command = json!({"cmd": name, "params": params});
        self.post("goog/cdp/execute", &command);
    }

    /// Has a script run in every page to come, before any of its own.
    pub fn before_pages(&self, script: &str) {
        self.command(
            "Page.addScriptToEvaluateOnNewDocument",
            &json!({"source": script}),
        );
    }

    /// Runs a script as the body of an async function and gives what it returns.
    pub fn run(&self, script: &str) -> Value {
        self.run_with(script, &Value::Null)
    }

    /// The same with one argument, `given`.
    pub fn run_with(&self, script: &str, given: &Value) -> Value {
        self.attempt(script, given)
            .unwrap_or_else(|fault| panic!("{fault}\nin {script}"))
    }

    /// What the script returns, or why it could not be run to its end.
    fn attempt(&self, script: &str, given: &Value) -> Result<Value, String> {
        let wrapped = format!(
            "const given = arguments[0], done = arguments[1]; (async () => {{ {script} }})().then(value => done({{ value }}), error => done({{ error: String(error && error.stack || error) }}));"
        );
        let answer = ask(
            &format!("{}/execute/async", self.session),
            &json!({"script": wrapped, "args": [given]}),
        )?;
        match answer.get("error") {
            Some(error) => Err(error.to_string()),
            None => Ok(answer["value"].clone()),
        }
    }

    /// Waits until the script returns something true, twenty seconds at most. A page that loads
    /// itself again meanwhile ends the script that was asking; then it is asked once more.
    pub fn wait(&self, what: &str, script: &str) -> Value {
        let start = Instant::now();
        loop {
            let answer = self.attempt(script, &Value::Null);
            if let Ok(value) = &answer
                && *value != Value::Null
                && *value != json!(false)
            {
                return value.clone();
            }
            assert!(
                start.elapsed() < Duration::from_secs(20),
                "waited in vain for {what}: {answer:?}"
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Types into the element that a selector finds, in place of what stands there.
    pub fn type_into(&self, selector: &str, text: &str) {
        // Everything selected first, by the keys Control and A, then the text.
        let keys = json!({"text": format!("\u{e009}a\u{e000}{text}")});
        let typed = || {
            let path = format!("{}/element/{}/value", self.session, self.element(selector));
            ask(&path, &keys)
        };
        match typed() {
            // The page put another in its place meanwhile: that one is typed into.
            Err(fault) if fault.contains("stale element") => typed().map(drop),
            answer => answer.map(drop),
        }
        .unwrap_or_else(|fault| panic!("{selector}: {fault}"));
    }

    /// Presses these keys in the element that a selector finds.
    pub fn type_keys(&self, selector: &str, keys: &str) {
        let id = self.element(selector);
        self.post(&format!("element/{id}/value"), &json!({"text": keys}));
    }

    /// Presses the element that a selector finds, by the keyboard: the space bar.
    pub fn press(&self, selector: &str) {
        let id = self.element(selector);
        self.post(&format!("element/{id}/value"), &json!({"text": " "}));
    }

    fn element(&self, selector: &str) -> String {
        let found = self.post(
            "element",
            &json!({"using": "css selector", "value": selector}),
        );
        let id = found
            .as_object()
            .and_then(|map| map.values().next())
            .and_then(Value::as_str);
        id.unwrap_or_else(|| panic!("no element {selector}: {found}"))
            .to_string()
    }

    /// What the browser complained of since the last call.
    pub fn complaints(&self) -> Vec<String> {
        let log = self.post("se/log", &json!({"type": "browser"}));
        log.as_array()
            .into_iter()
            .flatten()
            .filter(|entry| entry["level"] == "SEVERE")
            .filter_map(|entry| entry["message"].as_str().map(str::to_string))
            .collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = agent().delete(&self.session).call();
        if self.passing {
            let _ = std::fs::remove_dir_all(&self.profile);
        }
    }
}

fn agent() -> ureq::Agent {
    ureq::Agent::config_builder()
        .http_status_as_error(false)
        .timeout_global(Some(Duration::from_secs(30)))
        .build()
        .into()
}

fn send(address: &str, body: &Value) -> Value {
    ask(address, body).unwrap_or_else(|fault| panic!("{fault}"))
}

/// What WebDriver answers, or the error it answers with.
fn ask(address: &str, body: &Value) -> Result<Value, String> {
    let fault = |error: &dyn std::fmt::Display| format!("{address}: {error}");
    let mut answer = agent()
        .post(address)
        .send_json(body)
        .map_err(|error| fault(&error))?;
    let mut answer: Value = answer
        .body_mut()
        .read_json()
        .map_err(|error| fault(&error))?;
    let value = answer["value"].take();
    // An error of WebDriver's own has a message beside its name.
    if value.get("error").is_some() && value.get("message").is_some() {
        return Err(fault(&value));
    }
    Ok(value)
}
