#!/bin/sh
# Builds the site and serves it on this machine, fetching what is lacking first.
# On Debian, as root, missing packages are installed; elsewhere a sentence says what to install.
set -eu
cd "$(dirname "$0")"

have() { command -v "$1" >/dev/null 2>&1; }

[ -f "$HOME/.cargo/env" ] && . "$HOME/.cargo/env"

debian() {
    have apt-get && [ "$(id -u)" = 0 ]
}

if ! have cc; then
    if debian; then
        apt-get update -q && apt-get install -qy gcc libc6-dev
    else
        echo "A C compiler is needed for linking: install gcc or clang." >&2
        exit 1
    fi
fi

if ! have cargo; then
    echo "Rust 1.95 or newer is needed: install it from https://rustup.rs and run this again." >&2
    exit 1
fi

# The calculators also run in the page. The usual way is the toolchain's own target; where it
# cannot be had, Debian's packages bring the sources of the standard library instead.
browser=wasm32-unknown-unknown
if ! [ -d "$(rustc --print target-libdir --target $browser)" ]; then
    if ! { have rustup && rustup target add $browser >/dev/null 2>&1; }; then
        if [ -d "$(/usr/bin/rustc --print sysroot 2>/dev/null)/lib/rustlib/src/rust/library/std" ]; then
            :
        elif debian; then
            apt-get update -q && apt-get install -qy rustc-web cargo-web rust-web-src rust-web-llvm
        else
            echo "To compile for the browser, run: rustup target add $browser" >&2
            exit 1
        fi
    fi
fi

exec cargo run --release --locked --package site-builder -- "$@"
