# Every command a developer or CI runs. `make help` lists them.

GO      ?= go
VERSION ?= $(shell git describe --tags --always --dirty 2>/dev/null || echo dev)
LDFLAGS  = -X main.version=$(VERSION)
EXAMPLE ?= examples/cases/02-wake-boat-from-mussel-water.json

.PHONY: help run run-fresh example build test test-go test-browser test-wasm bench fuzz lint fmt golden docs client test-client clean

help: ## list the targets
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 12

run: build ## serve the demo season at http://localhost:8080; ARGS adds flags, such as --addr 127.0.0.1:8081
	@bin/thwart serve --demo --dir data/demo --log warn $(ARGS)

run-fresh: build ## serve an empty programme, or the one begun before, at http://localhost:8080
	@bin/thwart serve --dir data/programme $(ARGS)

example: build ## assess the main example: a wake boat with ballast from a water with mussels
	@bin/thwart assess $(EXAMPLE)

build: ## build bin/thwart
	@mkdir -p bin
	@$(GO) build -trimpath -ldflags '$(LDFLAGS)' -o bin/thwart ./cmd/thwart

test: test-go test-client test-browser ## every test

test-go: ## the Go tests: unit, reference values, properties, examples, fuzz seeds, both stores, the killed binary
	$(GO) test -timeout 20m ./...

CHROMIUM ?= $(shell command -v chromium || command -v chromium-browser || command -v google-chrome)
test-browser: build | have-node ## the server's pages in a real browser: accessibility, width, keyboard (needs Node 20 and Chromium)
	@browser='$(CHROMIUM)'; \
	if [ -z "$$browser" ] && [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	  apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium >/dev/null && browser=$$(command -v chromium); \
	fi; \
	if [ -z "$$browser" ]; then \
	  echo "test-browser: no browser found; install Chromium (Debian: apt-get install chromium) or give its path: make test-browser CHROMIUM=/path/to/chromium" >&2; exit 1; \
	fi; \
	cd web/look && npm ci --no-audit --no-fund --loglevel=error && CHROMIUM="$$browser" npm run --silent test

bench: ## benchmarks; compare with docs/reference/benchmarks.md
	$(GO) test -run '^$$' -bench . -benchmem ./...

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
	  { echo "The TypeScript client needs Node.js 20 or newer with npm: install both (https://nodejs.org, or apt-get install nodejs npm)."; exit 1; }

clean: ## remove build output
	rm -rf bin out .bench web/client/out
