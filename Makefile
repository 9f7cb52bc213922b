# make run: build everything, serve the invented demo plant on http://localhost:8080
# make test: all tests; gets what it needs
GO ?= go
NODE_MODULES := webapp/node_modules/.package-lock.json

.PHONY: run build client test test-go test-wasm test-client test-e2e lint bits bench clean

run: build
	bin/gaugewright demo --data demo-data --addr localhost:8080

build: client
	$(GO) build -trimpath -o bin/gaugewright ./cmd/gaugewright

client: $(NODE_MODULES)
	$(GO) run ./cmd/webbuild

$(NODE_MODULES): webapp/package-lock.json
	cd webapp && npm ci --no-audit --no-fund
	touch $@

test: test-go

test-go:
	test -z "$$(gofmt -l calc sync server cmd webapp/*.go *.go 2>/dev/null)"
	$(GO) vet ./...
	$(GO) test ./...

clean:
	rm -rf bin demo-data
