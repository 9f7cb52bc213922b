# make run: build everything, serve the invented demo plant on http://localhost:8080
# make check: formats, linters, types and the quick tests, in about a minute and a half: before each commit
# make test: all tests; names the Debian package of a program that it lacks
GO ?= go
NODE_MODULES := webapp/node_modules/.package-lock.json

.PHONY: run build client check check-go check-client goldens notice test test-go test-race test-wasm test-client test-e2e figures lighthouse pictures fmt bits bench side proof clean

run: build
	bin/gaugewright demo --data demo-data --addr localhost:8080

# The revision, with .changed behind it if something is not committed; empty outside of git.
REVISION := $(shell git describe --always --dirty=.changed --abbrev=7 --exclude '*' 2>/dev/null)

build: client
	$(GO) build -trimpath -ldflags "-X main.revision=$(REVISION)" -o bin/gaugewright ./cmd/gaugewright

client: $(NODE_MODULES)
	$(GO) run ./cmd/webbuild

$(NODE_MODULES): webapp/package-lock.json
	cd webapp && npm ci --no-audit --no-fund
	touch $@

# The tests that make check leaves to make test: long ones, and all of the store, the simulated world, the demo plant and the real program.
SLOW := TestLiveDecision|TestAgainstScipy|TestPassing|TestUses|TestGuessers|TestARecordStandsByItself|TestOneVisitDoesNotStop|TestRefusalsDoNotFill|TestARevokedUserHandsOver|TestAForgedJournal|TestErasedValues|TestWhatWasAltered|TestAdviceKeeps
QUICK = $$($(GO) list ./... | grep -v -E '/(sync/(store|world)|server/demo|cmd/|calc/internal/)')

# One target for each processor; both read the build cache.
check:
	@$(MAKE) --no-print-directory -j2 --output-sync=target check-go check-client

check-go: fmt
	$(GO) vet ./...
	GOOS=wasip1 GOARCH=wasm $(GO) vet ./calc/... ./sync/merge ./cmd/gaugewasm
	$(GO) tool staticcheck -checks all,-ST1000 ./...
	node .ci/deadcode.mjs
	node .ci/go-test.mjs -short -skip '$(SLOW)' $(QUICK)

check-client: $(NODE_MODULES)
	node --test --test-reporter=dot .ci/*.test.mjs
	node .ci/notice.mjs --check
	cd webapp && npm run --silent types && npm run --silent lint
	@mkdir -p bin; cd webapp && npm run --silent test >../bin/unit-tests.txt && tail -8 ../bin/unit-tests.txt || { cat ../bin/unit-tests.txt; exit 1; }

test: fmt client test-go test-race test-wasm test-client test-e2e

fmt:
	@test -z "$$(gofmt -l calc sync server cmd webapp/*.go *.go)" || { echo "not formatted:"; gofmt -l calc sync server cmd webapp/*.go *.go; exit 1; }
	@out="$$($(GO) tool goimports -l calc sync server cmd webapp/*.go *.go)" && test -z "$$out" || { echo "imports not in order; run go tool goimports -w:"; echo "$$out"; exit 1; }

test-go:
	$(GO) vet ./...
	GOOS=wasip1 GOARCH=wasm $(GO) vet ./calc/... ./sync/merge ./cmd/gaugewasm
	$(GO) tool staticcheck -checks all,-ST1000 ./...
	node .ci/deadcode.mjs
	BITS=300 node .ci/go-test.mjs --whole -timeout 60m ./...
	node .ci/go-test.mjs ./sync/world -run Worlds -seeds 1000 -steps 760 -timeout 30m

test-race:
	$(GO) test -tags planted -run Planted ./sync/store ./sync/world
	$(GO) test -race ./sync/store ./sync/link ./server/...

# The same code on another machine: the tests of the calculations and the merge, and every check value, as WebAssembly in Node.
test-wasm:
	GOOS=js GOARCH=wasm node .ci/go-test.mjs -exec "$$($(GO) env GOROOT)/lib/wasm/go_js_wasm_exec" ./calc/numeric ./calc/units ./calc/points ./calc/document ./calc/airdata ./sync/merge
	GOOS=js GOARCH=wasm node .ci/go-test.mjs -exec "$$($(GO) env GOROOT)/lib/wasm/go_js_wasm_exec" -run 'AgainstChecks|Small|ToleranceFactors|TradeFact|Refuses' ./calc

test-client: $(NODE_MODULES)
	node --test .ci/*.test.mjs
	node .ci/notice.mjs --check
	cd webapp && npm run types && npm run lint && npm test

# The whole story in a real browser, with the server really killed. CHROMIUM names another browser than /usr/bin/chromium.
test-e2e: build
	node webapp/e2e/all.mjs

# The replies to 10,000 documents of each calculation, compared with those in testdata/goldens: a change that moves a bit is seen. Where the
# bits are meant to move, make goldens UPDATE=-update freezes them again, those of the quick test too; say in the commit why they moved.
goldens:
	$(GO) test ./calc/internal/bitdigest -run Goldens -timeout 60m -v -args -documents 10000 $(UPDATE)
	$(GO) test ./calc/internal/bitdigest -run Goldens -v -args $(UPDATE)
	$(GO) test ./server/demo -run TestPapers -args $(UPDATE)

# What verdicts claim against simulated work whose truth is known: minutes. Writes calc/COVERAGE.md.
.PHONY: coverage
coverage:
	$(GO) test ./calc/internal/coverage -run Coverage -timeout 60m -v -args -write $(CURDIR)/calc/COVERAGE.md

# NOTICE: what the program carries that others wrote, with the licences.
notice: $(NODE_MODULES)
	node .ci/notice.mjs

# How fast and how large it is, in a real browser; keeps it in testdata/figures and judges nothing.
figures: build
	cd webapp && node ../testdata/figures/record.mjs figures node e2e/figures.mjs

# What Lighthouse, fetched from npm for the run, says of the round and of an instrument's page.
lighthouse: build
	cd webapp && node ../testdata/figures/record.mjs lighthouse node e2e/lighthouse.mjs

# Retakes the pictures of the README.
pictures: build
	cd webapp && node e2e/pictures.mjs

# The bit test over many more documents than make test takes: about 20 minutes on two free cores.
bits: $(NODE_MODULES)
	BITS=100000 $(GO) test ./calc -run 'TestBits$$' -timeout 180m -v

bench:
	$(GO) test -run NONE -bench . -benchmem ./calc/... ./sync/... ./server/api
	$(GO) test -run NONE -bench Issue -benchtime 1000x -benchmem ./server/office # a thousand certificates; the goal is 60 ms each on two cores
	mkdir -p bin && $(GO) run ./cmd/webbuild -module bin/calc.wasm
	$(GO) run ./calc/internal/bitdigest documents 1 50 | node webapp/test/wasm-bench.mjs bin/calc.wasm
	$(MAKE) side

# The exchange beside a general-purpose peer from npm, in one run, with the goals; without a line to npm, ours alone. A quarter of an hour.
side:
	node testdata/figures/record.mjs side node sync/bench/side.mjs

# That no work is lost: 1,000 simulated days (about a million steps), the errors built in on purpose, 200 kills of the real program, fuzzing of all that is read.
FUZZ ?= 120s
proof:
	$(GO) test ./sync/world -run Worlds -seeds 1000 -steps 760 -timeout 60m -v
	$(GO) test -tags planted -run Planted ./sync/store ./sync/world -v
	node .ci/mutants.mjs
	$(GO) test ./cmd/gaugewright -run Killed -kills 200 -timeout 60m -v
	for t in change:FuzzParse change:FuzzStamp merge:FuzzState merge:FuzzChange link:FuzzFrames link:FuzzCursor store:FuzzPieces; do \
		$(GO) test ./sync/$${t%:*} -run NONE -fuzz "^$${t#*:}\$$" -fuzztime $(FUZZ) || exit 1; done

clean:
	rm -rf bin demo-data

# A phone with 10,000 instruments at a quarter of this machine's speed: opening one may take 200 ms.
.PHONY: large
large: build
	cd webapp && node ../testdata/figures/record.mjs large node e2e/large.mjs

# What is given out: static programs, Debian packages, what they are made of, hashes; the same commit gives the same bytes.
.PHONY: release
release: client
	node .ci/release.mjs
