//! A text, mostly the address of a page with its values, as a QR code (ISO/IEC 18004) that the
//! camera of another phone can read: from paper, or from a screen held beside it.

use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};

/// The largest code drawn: 89 modules a side, 718 bytes. On a bench card, 34 mm wide with its
/// white margin, its modules are 0.35 mm, about the least that a phone's camera tells apart;
/// common practice, no source.
const LARGEST: u8 = 18;

/// White modules round the code, without which a reader may not find it (ISO/IEC 18004, quiet
/// zone).
const QUIET: i32 = 4;

/// `text` as an SVG, or nothing when it is too long for a code that a phone can read.
///
/// The finest correction of errors that fits without a larger code is taken. Unlike all other
/// pictures this one has its colours with it: a camera wants black on white wherever it stands.
pub fn svg(text: &str) -> Option<String> {
    // Addresses hold small letters, so only bytes are of use; the other modes would be weight.
    let segments = [QrSegment::make_bytes(text.as_bytes())];
    let code = QrCode::encode_segments_advanced(
        &segments,
        QrCodeEcc::Low,
        Version::MIN,
        Version::new(LARGEST),
        None,
        true,
    )
    .ok()?;
    let size = (code.size() + 2 * QUIET).to_string();
    let mut out = String::with_capacity(8192);
    for piece in [
        "<svg class=\"qr\" viewBox=\"0 0 ",
        &size,
        " ",
        &size,
        "\" role=\"img\" shape-rendering=\"crispEdges\"><title>QR code of this page with these values</title><path fill=\"#fff\" d=\"M0 0h",
        &size,
        "v",
        &size,
        "H0z\"/><path stroke=\"#000\" d=\"",
    ] {
        out.push_str(piece);
    }
    for y in 0..code.size() {
        // Each row is a line through the middle of its modules.
        out.push_str("M0 ");
        out.push_str(&(y + QUIET).to_string());
        out.push_str(".5");
        let (mut x, mut pen) = (0, -QUIET);
        while x < code.size() {
            let start = x;
            // Outside the code every module is white, so a run ends at its edge.
            while code.get_module(x, y) {
                x += 1;
            }
            if x > start {
                step(&mut out, "m", start - pen);
                step(&mut out, " 0h", x - start);
                pen = x;
            }
            x += 1;
        }
    }
    out.push_str("\"/></svg>");
    Some(out)
}

/// One command of the path and how far it goes.
fn step(out: &mut String, how: &str, long: i32) {
    out.push_str(how);
    out.push_str(&long.to_string());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_the_three_finders_and_the_quiet_zone() {
        // Version 1 has 21 modules a side and 17 bytes at the lowest correction
        // (ISO/IEC 18004, table of capacities).
        let code = svg("seventeen letters").expect("a code");
        assert!(code.contains("viewBox=\"0 0 29 29\""), "{code}");
        // The top edge of the finders left and right: seven dark modules each.
        assert!(
            code.contains("d=\"M0 4.5m4 0h7") && code.contains(" 0h7M0 5.5m4 0h1m5 0h1"),
            "{code}"
        );
        assert!(code.contains("M0 24.5m4 0h7"));
        assert!(
            svg("eighteen letters..")
                .expect("a code")
                .contains("0 0 33 33")
        );
    }

    #[test]
    fn refuses_what_no_phone_could_read() {
        assert!(svg(&"x".repeat(718)).is_some());
        assert_eq!(svg(&"x".repeat(719)), None);
    }
}
