# make run: build everything, serve the invented demo plant on http://localhost:8080
# make check: formats, linters, types and the quick tests, in about a minute: before each commit
# make test: all tests; names the Debian package of a program that it lacks
GO ?= go
NODE_MODULES := webapp/node_modules/.package-lock.json

.PHONY: run build client check check-go check-client check-more goldens notice test test-go test-race test-wasm test-client test-e2e figures lighthouse pictures fmt bits bench side proof clean

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

# The tests that make check leaves to make test: long ones, and all of the stores, the simulated world, the demo plant, what is taken out and the real program.
SLOW := TestLiveDecision|TestAgainstScipy|TestPassing|TestUses|TestGuessers|TestARecordStandsByItself|TestOneVisitDoesNotStop|TestRefusalsDoNotFill|TestARevokedUserHandsOver|TestAForgedJournal|TestErasedValues|TestWhatWasAltered|TestAdviceKeeps|TestTheSecondPieceWaits|TestAnExportBroughtIn|TestNewsPass|TestDemoRounds|TestAStrangerLocksNobodyOut|TestSchemas|TestRowsFollowTheJournal|TestRowsMadeMeanwhile|TestTwoServersOfOnePlant|TestOneOfTwoServersSends|TestLeakFalseAcceptance|TestLiveKindKeepsItsConfidence|TestTrialsOfTheSupplement|TestNoWordIsBroken|TestScannedPaper|TestEventsGoIntoTheLog|TestListsKeepNoWholeChanges|TestSheetIsReadBack|TestDefectTagsAreReadBack|TestGaugeBlockOfTheSupplement|TestLargeBodiesAreBounded|TestAirPlansKeepTheirLimits|TestWriterCatchesUp
QUICK = $$($(GO) list ./... | grep -v -E '/(sync/(store|world|postgres)|server/(demo|export)|cmd/|calc/internal/)')

# Two at a time, one for each processor: the third begins when the client's is done. All read the build cache.
check: bin/lint
	@$(MAKE) --no-print-directory -j2 --output-sync=target check-go check-client check-more

# go vet and staticcheck in one pass, with results kept in the build cache; make test runs each by itself.
bin/lint: .ci/lint/main.go go.mod
	$(GO) build -o $@ ./.ci/lint

check-more: fmt
	GOOS=wasip1 GOARCH=wasm $(GO) vet ./calc/... ./sync/merge ./cmd/gaugewasm
	node .ci/deadcode.mjs --linked

# All three use the packages of the module as the search for dead code needs them, without inlining, so that each is compiled once.
check-go check-more: export GOFLAGS += -gcflags=gaugewright/...=-l

check-go: bin/lint
	$(GO) vet -vettool=$(CURDIR)/bin/lint ./...
	node .ci/go-test.mjs -vet=off -short -skip '$(SLOW)' $(QUICK)

check-client: $(NODE_MODULES) bin/lint bin/unit-tests.txt
	node --test --test-reporter=dot .ci/*.test.mjs
	node .ci/notice.mjs --check
	cd webapp && npm run --silent types && npm run --silent lint
	@tail -8 bin/unit-tests.txt

# The client's unit tests run again in make check when a file or a folder of theirs is newer than what they last said.
bin/unit-tests.txt: $(NODE_MODULES) $(shell find webapp/src webapp/test webapp/*.json calc sync cmd/gaugewasm cmd/webbuild server/german server/api/testdata testdata ! -name '*_test.go')
	@mkdir -p bin; cd webapp && npm run --silent test >../$@.now || { cat ../$@.now; exit 1; }
	@mv $@.now $@

test: fmt client test-go test-race test-wasm test-client test-e2e

fmt:
	@test -z "$$(gofmt -l calc sync server cmd webapp/*.go *.go)" || { echo "not formatted:"; gofmt -l calc sync server cmd webapp/*.go *.go; exit 1; }
	@out="$$($(GO) tool goimports -l calc sync server cmd webapp/*.go *.go)" && test -z "$$out" || { echo "imports not in order; run go tool goimports -w:"; echo "$$out"; exit 1; }

# The packages with the longest tests: begun first, they do not end alone on one of the processors.
LONG := ./calc ./sync/store ./server/demo ./cmd/gaugewright ./server/office ./server/api ./server/export

test-go:
	$(GO) vet ./...
	GOOS=wasip1 GOARCH=wasm $(GO) vet ./calc/... ./sync/merge ./cmd/gaugewasm
	$(GO) tool staticcheck -checks all,-ST1000 ./...
	node .ci/deadcode.mjs
	BITS=150 node .ci/go-test.mjs --whole -timeout 60m $(LONG) ./...
	node .ci/go-test.mjs ./sync/world -run Worlds -seeds 1000 -steps 760 -timeout 30m

# test-go tests the store on PostgreSQL, since it is the same code above another engine; it draws the corpus of papers and flips
# their bits: one goroutine does that, which has nothing to race with. The packages named here start no goroutines and hold no locks.
ALONE := config|copies|dcc|dcc/dcctest|demo|export|labels|machine/client|paper|plant|refusal|register|report|secure|site|verify
test-race:
	$(GO) test -tags planted -run Planted ./sync/store ./sync/world
	$(GO) test -race -timeout 60m -skip 'OnPostgres|EveryBit|Corpus' ./server/api ./server/office ./sync/store ./sync/link \
		$$($(GO) list ./server/... | grep -v -E '/server/($(ALONE))$$')

# The tests of the calculations and the merge, and every check value, as WebAssembly in Node.
test-wasm:
	GOOS=js GOARCH=wasm node .ci/go-test.mjs -exec "$$($(GO) env GOROOT)/lib/wasm/go_js_wasm_exec" ./calc/numeric ./calc/units ./calc/points ./calc/document ./calc/airdata ./sync/merge
	GOOS=js GOARCH=wasm node .ci/go-test.mjs -exec "$$($(GO) env GOROOT)/lib/wasm/go_js_wasm_exec" -run 'AgainstChecks|Small|ToleranceFactors|TradeFact|Refuses' ./calc

test-client: $(NODE_MODULES) bin/lint
	node --test .ci/*.test.mjs
	node .ci/notice.mjs --check
	cd webapp && npm run types && npm run lint && npm test

# The whole story in a real browser, with the server really killed. CHROMIUM names another browser than /usr/bin/chromium.
test-e2e: build
	node webapp/e2e/all.mjs

# Compares the replies to 10,000 documents of each calculation with those in testdata/goldens, so that no changed bit goes unnoticed. If the
# bits are meant to change, make goldens UPDATE=-update freezes them again, also those of the quick test. Say in the commit why they changed.
goldens:
	$(GO) test ./calc/internal/bitdigest -run Goldens -timeout 60m -v -args -documents 10000 $(UPDATE)
	$(GO) test ./calc/internal/bitdigest -run Goldens -v -args $(UPDATE)
	$(GO) test ./server/demo -run TestPapers -args $(UPDATE)

# Compares what verdicts claim with simulated work whose true values are known. Takes minutes and writes calc/COVERAGE.md.
.PHONY: coverage
coverage:
	$(GO) test ./calc/internal/coverage -run Coverage -timeout 60m -v -args -write $(CURDIR)/calc/COVERAGE.md

# Writes NOTICE: other people's code in the program, with the licences.
notice: $(NODE_MODULES)
	node .ci/notice.mjs

# Measures speed and size in a real browser, records them in testdata/figures and judges nothing.
figures: build
	cd webapp && node ../testdata/figures/record.mjs figures node e2e/figures.mjs

# Runs Lighthouse, fetched from npm for the run, on the round and on an instrument's page.
lighthouse: build
	cd webapp && node ../testdata/figures/record.mjs lighthouse node e2e/lighthouse.mjs

# Retakes the pictures of the README.
pictures: build
	cd webapp && node e2e/pictures.mjs

# The bit test with many more documents than in make test: about 20 minutes on two free cores.
bits: $(NODE_MODULES)
	BITS=100000 $(GO) test ./calc -run 'TestBits$$' -timeout 180m -v

bench:
	$(GO) test -run NONE -bench . -benchmem ./calc/... ./sync/... ./server/api
	$(GO) test -run NONE -bench Issue -benchtime 1000x -benchmem ./server/office # a thousand certificates; the goal is 60 ms each on two cores
	mkdir -p bin && $(GO) run ./cmd/webbuild -module bin/calc.wasm
	$(GO) run ./calc/internal/bitdigest documents 1 50 | node webapp/test/wasm-bench.mjs bin/calc.wasm
	$(MAKE) side

# The exchange beside a general-purpose peer from npm, in one run, with the goals; without a line to npm, ours alone, and without a browser no pull in one. A quarter of an hour.
side: client
	node testdata/figures/record.mjs side node sync/bench/side.mjs

# The same with the plant in a PostgreSQL server that is started for it, once.
.PHONY: side-postgres
side-postgres: client
	node testdata/figures/record.mjs side-postgres node sync/bench/side.mjs --runs 1 --store postgres

# Tests that no work is lost: 1,000 simulated days (about a million steps), the planted errors, 200 kills of the real program, fuzzing of every reader.
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

# Measures companies of a thousand, ten thousand and a hundred thousand instruments. Takes hours and some 40 GB in SCALE. Folders that exist are
# measured as they are. Each of the YEARS of past work makes 12 captures per instrument.
SCALE ?= /var/tmp/gaugewright-scale
SIZES ?= 1000 10000 100000
YEARS ?= 8
.PHONY: scale
scale: build
	$(GO) build -o bin/scale ./cmd/scale
	mkdir -p $(SCALE)
	for n in $(SIZES); do test -d $(SCALE)/$$n || { bin/scale make --data $(SCALE)/$$n.new --instruments $$n --years $(YEARS) && mv $(SCALE)/$$n.new $(SCALE)/$$n; } || exit 1; done
	node testdata/figures/record.mjs scale bin/scale measure $(addprefix $(SCALE)/,$(SIZES))
	bin/scale rounds --data $(SCALE)/$(lastword $(SIZES))
	node testdata/figures/record.mjs company node webapp/e2e/company.mjs $(SCALE)/$(lastword $(SIZES))

# The release: static programs, Debian packages, a list of their parts, hashes. The same commit gives the same bytes.
.PHONY: release
release: client
	node .ci/release.mjs
