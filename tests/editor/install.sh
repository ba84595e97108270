#!/bin/bash
# Brings a real editor (the server build of VS Code) and a browser to drive it.
# Nothing is compiled: install scripts stay off, and the parts that would need them (terminal, file watcher) are not used here.
set -euo pipefail
cd "$(dirname "$0")"

if [ ! -x "${CHROMIUM:-/usr/bin/chromium}" ]; then
  as_root=()
  if [ "$(id -u)" != 0 ]; then as_root=(sudo -n); fi
  "${as_root[@]}" apt-get update -qq
  DEBIAN_FRONTEND=noninteractive "${as_root[@]}" apt-get install -y -qq --no-install-recommends chromium >/dev/null
fi

if [ ! -f node_modules/code-server/out/node/entry.js ] || [ ! -d node_modules/playwright-core ]; then
  npm ci --ignore-scripts --no-audit --no-fund --loglevel=error
fi
if [ ! -d node_modules/code-server/lib/vscode/node_modules/tslib ]; then
  # 'npm ci' refuses here: the list of versions shipped inside lacks one package.
  (cd node_modules/code-server/lib/vscode && npm install --omit=dev --ignore-scripts --no-audit --no-fund --loglevel=error)
fi
