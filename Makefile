# Every command a developer or CI runs. `make help` lists them.

GO      ?= go
VERSION ?= $(shell git describe --tags --always --dirty 2>/dev/null || echo dev)
LDFLAGS  = -X main.version=$(VERSION)
# The program is pure Go. Tests and program share one set of compiled packages, so neither is built with flags of its own.
export CGO_ENABLED ?= 0
EXAMPLE ?= examples/cases/02-wake-boat-from-mussel-water.json

.PHONY: help run run-fresh example build web wasm test test-go test-web test-browser test-phone test-wasm bench fuzz lint fmt golden docs client test-client clean

help: ## list the targets
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 12

run: build ## serve the demo season at http://localhost:8080; ARGS adds flags, such as --addr 127.0.0.1:8081
	@bin/thwart serve --demo --dir data/demo --log warn $(ARGS)

run-fresh: build ## serve an empty programme, or the one begun before, at http://localhost:8080
	@bin/thwart serve --dir data/programme $(ARGS)

example: build ## assess the main example: a wake boat with ballast from a water with mussels
	@bin/thwart assess $(EXAMPLE)

build: web ## build bin/thwart with its web app
	@$(MAKE) --no-print-directory bin

.PHONY: bin
bin: ## build bin/thwart alone, with whatever web app was built before (needs no Node)
	@mkdir -p bin
	@$(GO) build -ldflags '$(LDFLAGS)' -o bin/thwart ./cmd/thwart

# The web app is built again when something it is made of has changed.
WEB_DEPS  = web/app/node_modules/.package-lock.json
WEB_BUILT = internal/webui/dist/.built
WEB_FROM  = $(shell find web/app -type f -not -path '*/node_modules/*' -not -path 'web/app/public/engine/*' -not -path 'web/app/test/*' -not -path 'web/app/e2e/*' 2>/dev/null)

# The engine for the browser, compiled again when a package it is made of has changed.
ENGINE      = web/app/public/engine
ENGINE_FROM = $(shell find *.go advice boater draw engine form handover intake lean merge names phone practice receipt refdata tongue unit cmd/thwart-wasm \
  internal/wasmbuild go.mod -type f -not -name '*_test.go' 2>/dev/null)

wasm: $(ENGINE)/engine.wasm ## compile the engine for the browser

$(ENGINE)/engine.wasm: $(ENGINE_FROM)
	@$(GO) run ./internal/wasmbuild $(ENGINE)

web: $(WEB_BUILT) ## build the web app (needs Node 20)

$(WEB_BUILT): $(WEB_FROM) $(WEB_DEPS) $(ENGINE)/engine.wasm
	@cd web/app && npm run --silent build -- --logLevel warn
	@touch $@

$(WEB_DEPS): web/app/package-lock.json | have-node
	cd web/app && npm ci --no-audit --no-fund --loglevel=error
	@touch $@

test-web: web ## the web app: types, style, unit tests
	cd web/app && npm run --silent check && npm run --silent test

# The packages that a phone runs, tested as a phone runs them. -short leaves out what takes minutes at a quarter of the speed.
WASM_TESTS = . ./advice ./boater ./draw/... $(addprefix ./engine/,air drying heat lethal num risk round search trace) ./form ./handover ./intake ./lean ./merge ./names ./phone ./receipt ./refdata ./tongue ./unit
test-wasm: | have-node ## the engine's Go tests, compiled to WebAssembly and run by Node
	@PATH="$$($(GO) env GOROOT)/lib/wasm:$$PATH" GOOS=js GOARCH=wasm $(GO) test -short -timeout 10m $(WASM_TESTS)

test: test-go test-wasm test-client test-web test-browser test-phone ## every test

# A validator of others for what is published as XML. Where it cannot be installed the tests that need it say so, and fail in CI.
define find-xmllint
if ! command -v xmllint >/dev/null && [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
  apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq libxml2-utils >/dev/null; \
fi
endef

# One more package at a time than there are processors: some wait for servers that are killed and started again.
TEST_JOBS ?= $(shell expr $$(nproc 2>/dev/null || echo 2) + 1)

test-go: ## the Go tests: unit, reference values, properties, examples, fuzz seeds, both stores, the killed binary
	@$(find-xmllint)
	$(GO) test -p $(TEST_JOBS) -timeout 20m ./...

CHROMIUM ?= $(shell command -v chromium || command -v chromium-browser || command -v google-chrome)
# Debian's Chromium is installed where a test needs one and the machine is a container that may install it.
define find-browser
browser='$(CHROMIUM)'; \
if [ -z "$$browser" ] && [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
  apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium >/dev/null && browser=$$(command -v chromium); \
fi; \
if [ -z "$$browser" ]; then \
  echo "$@: no browser found; install Chromium (Debian: apt-get install chromium) or give its path: make $@ CHROMIUM=/path/to/chromium" >&2; exit 1; \
fi
endef

test-browser: build | have-node ## the server's pages in a real browser: accessibility, width, keyboard (needs Node 20 and Chromium)
	@$(find-browser); \
	cd web/look && npm ci --no-audit --no-fund --loglevel=error && CHROMIUM="$$browser" npm run --silent test

test-phone: build | have-node ## the phone in a real browser: offline, killed, full, bad lines, new versions, budgets (needs Node 20 and Chromium)
	@$(find-browser); \
	cd web/app && CHROMIUM="$$browser" npm run --silent test-phone

bench: ## benchmarks; compare with docs/reference/benchmarks.md
	$(GO) test -run '^$$' -bench . -benchmem ./...

# A million inspections take some 13 minutes of processor time to make, and 6 GB of disk; the folder is kept and used again.
OFFICE_DIR ?= out/million
.PHONY: bench-office
bench-office: build | have-node ## the office's pages over a million inspections in a real browser (OFFICE_DIR keeps them; needs Chromium)
	$(GO) run ./internal/bigdemo -dir '$(OFFICE_DIR)'
	@$(find-browser); \
	cd web/look && npm ci --no-audit --no-fund --loglevel=error && CHROMIUM="$$browser" THWART_LOOK_DIR='$(abspath $(OFFICE_DIR))' node --test --test-reporter=spec office.bench.mjs

FUZZTIME ?= 20s
fuzz: ## run every fuzz target for FUZZTIME each
	@for f in $$(grep -rlE '^func Fuzz' --include='*_test.go' .); do \
	  for t in $$(grep -oE '^func Fuzz[A-Za-z0-9]+' $$f | cut -c6-); do \
	    echo "$$(dirname $$f) $$t"; $(GO) test -run '^$$' -fuzz "^$$t$$" -fuzztime $(FUZZTIME) $$(dirname $$f) || exit 1; \
	  done; done

lint: ## gofmt, vet, staticcheck, known vulnerabilities
	@.ci/lint

fmt: ## format all Go code
	gofmt -w .

golden: ## rewrite the golden files of the examples; read the difference before committing it
	$(GO) test ./examples/... ./cmd/thwart/... -update

docs: ## regenerate docs/reference from the data library, the command line and the API
	$(GO) run ./internal/docgen

# The typed client in TypeScript. Its dependencies are installed again when the lock file has changed.
CLIENT_DEPS = web/client/node_modules/.package-lock.json

client: docs $(CLIENT_DEPS) ## regenerate the types of the TypeScript client from the API
	cd web/client && npm run --silent generate

test-client: $(CLIENT_DEPS) ## the TypeScript client: types, freshness, tests against the real server
	cd web/client && npm run --silent check
	@mkdir -p out
	@cd web/client && npx openapi-typescript ../../docs/reference/openapi.json -o ../../out/schema.d.ts > /dev/null
	@diff -u web/client/src/schema.d.ts out/schema.d.ts || { echo "web/client/src/schema.d.ts is stale; run: make client"; exit 1; }
	cd web/client && GO=$(GO) npm run --silent test

$(CLIENT_DEPS): web/client/package-lock.json | have-node
	cd web/client && npm ci --no-audit --no-fund
	@touch $@

.PHONY: have-node
have-node:
	@command -v node > /dev/null && command -v npm > /dev/null && node -e 'process.exit(parseInt(process.versions.node) < 20 ? 1 : 0)' || \
	  { echo "The web app and the TypeScript client need Node.js 20 or newer with npm: install both (https://nodejs.org, or apt-get install nodejs npm)."; exit 1; }

# The exact version and the hash npm publishes for it. A new version needs both, and the solver's tests.
HIGHS_VERSION   = 1.15.3
HIGHS_INTEGRITY = 5rzjBlAkqRxr7FOv+iZjxF8nNfKsEt8uOaP3S6gls6yRf4+Jv4BqBIE3iPFsgfOHutQBMNxRE9jWhxRAM7Oycw==

.PHONY: solver-module
solver-module: | have-node ## fetch the optimiser's module again and derive the table of its names (needs npm and openssl)
	@mkdir -p out/highs
	cd out/highs && npm pack --silent highs@$(HIGHS_VERSION) > /dev/null
	@got=$$(openssl dgst -sha512 -binary out/highs/highs-$(HIGHS_VERSION).tgz | openssl base64 -A); \
	if [ "$$got" != "$(HIGHS_INTEGRITY)" ]; then echo "solver-module: the archive's hash is $$got, not the one recorded here" >&2; exit 1; fi
	tar -xzf out/highs/highs-$(HIGHS_VERSION).tgz -C out/highs
	$(GO) run ./internal/highsgen out/highs/package

clean: ## remove build output
	rm -rf bin out .bench web/client/out web/app/public/engine
	cd internal/webui/dist && find . -mindepth 1 -not -name README -delete
