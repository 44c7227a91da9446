# Every command a developer or CI runs. `make help` lists them.

GO      ?= go
VERSION ?= $(shell git describe --tags --always --dirty 2>/dev/null || echo dev)
LDFLAGS  = -X main.version=$(VERSION)
EXAMPLE ?= examples/cases/02-wake-boat-from-mussel-water.json

.PHONY: help run build test test-wasm bench fuzz lint fmt golden docs clean

help: ## list the targets
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 12

run: build ## assess the main example: a wake boat with ballast from a water with mussels
	@bin/thwart assess $(EXAMPLE)

build: ## build bin/thwart
	@mkdir -p bin
	@$(GO) build -trimpath -ldflags '$(LDFLAGS)' -o bin/thwart ./cmd/thwart

test: ## every test: unit, reference values, properties, examples, fuzz seeds
	$(GO) test ./...

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

docs: ## regenerate docs/reference from the data library and the command line
	$(GO) run ./internal/docgen

clean: ## remove build output
	rm -rf bin out .bench
