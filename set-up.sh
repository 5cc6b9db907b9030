# Sees to what is lacking; forerun.sh and test.sh read this, each with the words for what it needs.
# On Debian, as root, missing packages are installed; elsewhere a sentence says what to install.

# shellcheck shell=sh
have() { command -v "$1" >/dev/null 2>&1; }

[ -f "$HOME/.cargo/env" ] && . "$HOME/.cargo/env"

# The calculators also run in the page. The usual way is the toolchain's own target; where that
# cannot be had, these packages of Debian build the standard library for it from source. The last
# one is the linker; a toolchain of rustup brings its own, which serves as well.
from_source="rustc-web cargo-web rust-web-src lld"
browser=wasm32-unknown-unknown

compiles_for_the_browser() {
    [ -d "$(rustc --print target-libdir --target $browser)" ] && return
    have rustup && rustup target add $browser >/dev/null 2>&1 && return
    [ -d "$(/usr/bin/rustc --print sysroot 2>/dev/null)/lib/rustlib/src/rust/library/std" ] &&
        { [ -e /usr/bin/wasm-ld ] || have rustup; }
}

# see_to PACKAGE...: with what the compiler lacks besides.
see_to() {
    lacking="$*"
    have cc || lacking="$lacking gcc libc6-dev"
    have cargo && compiles_for_the_browser || lacking="$lacking $from_source"
    [ -n "${lacking# }" ] || return 0
    if have apt-get && [ "$(id -u)" = 0 ]; then
        apt-get update -q
        # shellcheck disable=SC2086
        DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends $lacking
    elif ! have cargo; then
        echo "Rust 1.95 or newer is needed: install it from https://rustup.rs and run this again." >&2
        exit 1
    else
        echo "Install these and run this again: ${lacking# }" >&2
        echo "Or, for what ends in -web and -src: rustup target add $browser" >&2
        exit 1
    fi
}
