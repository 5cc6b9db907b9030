#!/bin/sh
# Makes an archive of the program, with its SHA-256: archive.sh [FOLDER], else target/archive.
# What is in it needs neither this checkout nor a compiler nor a network.
set -eu
cd "$(dirname "$0")/.."
. ./set-up.sh
see_to

folder=${1:-target/archive}
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)

# Cargo does not see a file that is new among those that the program brings.
touch site-builder/src/shipped.rs
half=$(mktemp -d)
trap 'rm -rf "$half"' EXIT
cargo install --quiet --locked --path site-builder --root "$half/installed" --no-track

version=$("$half/installed/bin/forerun" --version | cut -d ' ' -f 2)
name=forerun-$version-$(rustc --print host-tuple)
mkdir "$half/$name"
mv "$half/installed/bin/forerun" "$half/$name/"
"$half/$name/forerun" manual "$half/$name/manual"
mkdir "$half/$name/completions"
for shell in bash elvish fish powershell zsh; do
    "$half/$name/forerun" completions $shell >"$half/$name/completions/$shell"
done
cp README.md LICENSE-APACHE LICENSE-MIT "$half/$name/"

# A sum for each file as well, so that what was unpacked can be checked too.
sum() { if have sha256sum; then sha256sum "$@"; else shasum -a 256 "$@"; fi; }
(cd "$half/$name" && find . -type f | sort | while read -r file; do sum "$file"; done >"$half/sums")
mv "$half/sums" "$half/$name/SHA256SUMS"
(cd "$half" && tar -cf - "$name" | gzip -n9 >"$folder/$name.tar.gz")
(cd "$folder" && sum "$name.tar.gz" >"$name.tar.gz.sha256")
echo "$folder/$name.tar.gz"
