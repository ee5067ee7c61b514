#!/bin/sh
# Sees that Chromium is there for the tests of the page: through the system's packages where that is allowed.
command -v chromium >/dev/null 2>&1 && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Installing Chromium for the tests of the page ..."
  if (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium) \
    >/dev/null 2>&1 && command -v chromium >/dev/null 2>&1; then
    exit 0
  fi
fi
echo "Chromium is not installed and may not be installed here, so the tests of the page in a browser are left out."
