#!/bin/sh
# Sees that PostgreSQL is there for the tests of benches on a server: through the system's packages where that is allowed.
ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 && exit 0
command -v initdb >/dev/null 2>&1 && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Installing PostgreSQL for the tests of benches on a server ..."
  if (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends postgresql) \
    >/dev/null 2>&1 && ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1; then
    exit 0
  fi
fi
echo "PostgreSQL is not installed and may not be installed here, so the tests of benches on a server are left out."
