#!/bin/sh
# Builds the site and serves it on this machine, fetching what is lacking first.
set -eu
cd "$(dirname "$0")"
. ./set-up.sh
see_to

exec cargo run --release --locked --package site-builder -- "$@"
