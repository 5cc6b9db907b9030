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

# The calculators also run in the page. The usual way is the toolchain's own target; where that
# cannot be had, Debian's packages build the standard library for it from source.
from_source="rustc-web cargo-web rust-web-src lld"
browser=wasm32-unknown-unknown

lacking=""
have cc || lacking="$lacking gcc libc6-dev"
if ! have cargo; then
    lacking="$lacking $from_source"
elif ! [ -d "$(rustc --print target-libdir --target $browser)" ]; then
    if ! { have rustup && rustup target add $browser >/dev/null 2>&1; }; then
        [ -d "$(/usr/bin/rustc --print sysroot 2>/dev/null)/lib/rustlib/src/rust/library/std" ] ||
            lacking="$lacking $from_source"
    fi
fi
if [ -n "$lacking" ]; then
    if debian; then
        apt-get update -q
        # shellcheck disable=SC2086
        DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends $lacking
    elif ! have cargo; then
        echo "Rust 1.95 or newer is needed: install it from https://rustup.rs and run this again." >&2
        exit 1
    else
        echo "Install these and run this again:$lacking" >&2
        echo "Or, with rustup: rustup target add $browser" >&2
        exit 1
    fi
fi

exec cargo run --release --locked --package site-builder -- "$@"
