#!/bin/sh
# Sees that Chromium is there for the tests of the page: through the system's packages where that is allowed.
# Its shell without windows draws and answers the same in a third of the time, so that is taken where there is one.
here() { command -v "$1" >/dev/null 2>&1; }
get() { DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$1" >/dev/null 2>&1 && here "$1"; }

here chromium-headless-shell && exit 0
if [ "$(id -u)" = 0 ] && here apt-get; then
  here chromium || apt-get update -qq >/dev/null 2>&1
  if apt-cache show chromium-headless-shell >/dev/null 2>&1; then
    echo "Installing Chromium's shell for the tests of the page ..."
    get chromium-headless-shell && exit 0
  fi
  here chromium && exit 0
  echo "Installing Chromium for the tests of the page ..."
  get chromium && exit 0
fi
here chromium && exit 0
echo "Chromium is not installed and may not be installed here, so the tests of the page in a browser are left out."
