//! Serving the built site on this machine, and only to it.

use std::fs;
use std::io::Cursor;
use std::path::{Component, Path, PathBuf};

use tiny_http::{Header, Request, Response, Server, StatusCode};

/// Serves `folder` on 127.0.0.1 until the program is stopped. Port 0 takes any free one.
///
/// # Errors
/// The port is taken.
pub fn serve(folder: &Path, port: u16, ready: impl Fn(u16)) -> Result<(), String> {
    let server = Server::http(("127.0.0.1", port))
        .map_err(|error| format!("port {port} cannot be used: {error}; try another with --port"))?;
    ready(
        server
            .server_addr()
            .to_ip()
            .map_or(port, |address| address.port()),
    );
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                while let Ok(request) = server.recv() {
                    answer(folder, request);
                }
            });
        }
    });
    Ok(())
}

fn answer(folder: &Path, request: Request) {
    let path = request
        .url()
        .split(['?', '#'])
        .next()
        .unwrap_or("/")
        .to_owned();
    let response = match find(folder, &path) {
        Some(file) => file_response(&file),
        None => Response::from_data("There is no such page.").with_status_code(StatusCode(404)),
    };
    // A reader who has gone away needs no answer.
    let _ = request.respond(response);
}

/// The file behind an address; nothing outside the folder.
fn find(folder: &Path, url: &str) -> Option<PathBuf> {
    let inside = Path::new(url.trim_start_matches('/'));
    if inside
        .components()
        .any(|part| !matches!(part, Component::Normal(_)))
    {
        return None;
    }
    let mut file = folder.join(inside);
    if file.is_dir() {
        // Relative links of a folder's page need the slash at the end.
        if !url.ends_with('/') {
            return None;
        }
        file.push("index.html");
    }
    file.is_file().then_some(file)
}

fn file_response(file: &Path) -> Response<Cursor<Vec<u8>>> {
    let ending = file
        .extension()
        .map(|ending| ending.to_string_lossy().into_owned());
    let kind = match ending.as_deref() {
        Some("html") => "text/html; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("json") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("jpg" | "jpeg") => "image/jpeg",
        Some("webp") => "image/webp",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    };
    let mut response = Response::from_data(fs::read(file).unwrap_or_default());
    for (name, value) in [("Content-Type", kind), ("Cache-Control", "no-cache")] {
        if let Ok(header) = Header::from_bytes(name, value) {
            response.add_header(header);
        }
    }
    response
}
