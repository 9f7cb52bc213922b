# make run: build everything, serve the invented demo plant on http://localhost:8080
# make test: all tests; gets what it needs
GO ?= go
NODE_MODULES := webapp/node_modules/.package-lock.json

.PHONY: run build client test test-go test-race test-wasm test-client test-e2e figures lighthouse pictures fmt bits bench side proof clean

run: build
	bin/gaugewright demo --data demo-data --addr localhost:8080

build: client
	$(GO) build -trimpath -o bin/gaugewright ./cmd/gaugewright

client: $(NODE_MODULES)
	$(GO) run ./cmd/webbuild

$(NODE_MODULES): webapp/package-lock.json
	cd webapp && npm ci --no-audit --no-fund
	touch $@

test: fmt client test-go test-race test-wasm test-client test-e2e

fmt:
	@test -z "$$(gofmt -l calc sync server cmd webapp/*.go *.go)" || { echo "not formatted:"; gofmt -l calc sync server cmd webapp/*.go *.go; exit 1; }

test-go:
	$(GO) vet ./...
	GOOS=wasip1 GOARCH=wasm $(GO) vet ./calc/... ./sync/merge ./cmd/gaugewasm
	$(GO) test -timeout 30m ./...
	$(GO) test ./sync/world -run Worlds -seeds 1000 -steps 760 -timeout 30m
	BITS=300 $(GO) test ./calc -run 'TestBits$$' -timeout 60m -v

test-race:
	$(GO) test -tags planted -run Planted ./sync/world
	$(GO) test -race ./sync/store ./sync/link ./server/...

# The same code on another machine: the tests of the calculations and the merge, and every check value, as WebAssembly in Node.
test-wasm:
	GOOS=js GOARCH=wasm $(GO) test -exec "$$($(GO) env GOROOT)/lib/wasm/go_js_wasm_exec" ./calc/numeric ./calc/units ./calc/points ./calc/document ./calc/airdata ./sync/merge
	GOOS=js GOARCH=wasm $(GO) test -exec "$$($(GO) env GOROOT)/lib/wasm/go_js_wasm_exec" -run 'AgainstChecks|Small|ToleranceFactors|TradeFact|Refuses' ./calc

test-client: $(NODE_MODULES)
	cd webapp && npm run types && npm run lint && npm test

# The whole story in a real browser, with the server really killed. CHROMIUM names another browser than /usr/bin/chromium.
test-e2e: build
	node webapp/e2e/all.mjs

# How fast and how large it is, in a real browser; prints, judges nothing.
figures: build
	cd webapp && node e2e/figures.mjs

# What Lighthouse, fetched from npm for the run, says of the round and of an instrument's page.
lighthouse: build
	cd webapp && node e2e/lighthouse.mjs

# Takes the pictures of the README anew.
pictures: build
	cd webapp && node e2e/pictures.mjs

# The bit test over many more documents than make test takes: about 20 minutes on two free cores.
bits: $(NODE_MODULES)
	BITS=100000 $(GO) test ./calc -run 'TestBits$$' -timeout 180m -v

bench:
	$(GO) test -run NONE -bench . -benchmem ./calc/... ./sync/... ./server/api
	mkdir -p bin && $(GO) run ./cmd/webbuild -module bin/calc.wasm
	$(GO) run ./calc/internal/bitdigest documents 1 50 | node webapp/test/wasm-bench.mjs bin/calc.wasm
	$(MAKE) side

# The exchange beside a general-purpose peer from npm, in one run, with the goals; without a line to npm, ours alone. A quarter of an hour.
side:
	node sync/bench/side.mjs

# That no work is lost: 1,000 simulated days (about a million steps), the errors built in on purpose, 200 kills of the real program, fuzzing of all that is read.
FUZZ ?= 120s
proof:
	$(GO) test ./sync/world -run Worlds -seeds 1000 -steps 760 -timeout 60m -v
	$(GO) test -tags planted -run Planted ./sync/world -v
	$(GO) test ./cmd/gaugewright -run Killed -kills 200 -timeout 60m -v
	for t in change:FuzzParse change:FuzzStamp merge:FuzzState merge:FuzzChange link:FuzzFrames link:FuzzCursor store:FuzzPieces; do \
		$(GO) test ./sync/$${t%:*} -run NONE -fuzz "^$${t#*:}\$$" -fuzztime $(FUZZ) || exit 1; done

clean:
	rm -rf bin demo-data

# A phone with 10,000 instruments at a quarter of this machine's speed: opening one may take 200 ms.
.PHONY: large
large: build
	cd webapp && node e2e/large.mjs
