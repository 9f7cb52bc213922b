package machine

import (
	"bytes"
	"encoding/json"
	"flag"
	"net/http"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/invopop/jsonschema"
)

//go:generate go test -run TestDescription$ -args -write
//go:generate go tool oapi-codegen -config client/oapi-codegen.yaml openapi.json

var writeDescription = flag.Bool("write", false, "write openapi.json from the route table")

type object = map[string]any

// schemas gathers the schemas of the shapes that the routes name.
type schemas struct {
	t   *testing.T
	all object
}

// of returns a reference to the schema of a shape, and adds those that it uses.
func (s *schemas) of(v any) object {
	s.t.Helper()
	_, body := v.(OrderIn)
	r := jsonschema.Reflector{Anonymous: true, AllowAdditionalProperties: !body}
	b, err := json.Marshal(r.Reflect(v))
	if err != nil {
		s.t.Fatal(err)
	}
	b = bytes.ReplaceAll(b, []byte(`"#/$defs/`), []byte(`"#/components/schemas/`))
	var in struct {
		Defs map[string]object `json:"$defs"`
	}
	if err := json.Unmarshal(b, &in); err != nil {
		s.t.Fatal(err)
	}
	for name, one := range in.Defs {
		s.all[name] = one
	}
	return object{"$ref": "#/components/schemas/" + reflect.TypeOf(v).Name()}
}

// statusesOf lists the refusals that a route can answer with.
func statusesOf(r *route) []int {
	list := []int{401, 403, 429}
	if r.body != nil {
		list = append(list, 400, 409, 413, 415, 422)
	} else if len(r.query) > 0 {
		list = append(list, 400)
	}
	if strings.Contains(r.path, "{") {
		list = append(list, 404)
	}
	if r.method == "DELETE" {
		list = append(list, 409)
	}
	slices.Sort(list)
	return list
}

func header(means string) object {
	return object{"description": means, "schema": object{"type": "string"}}
}

func operation(r *route, s *schemas) object {
	params := []any{}
	for _, m := range regexp.MustCompile(`\{(\w+)\}`).FindAllStringSubmatch(r.path, -1) {
		params = append(params, object{
			"name": m[1], "in": "path", "required": true, "schema": object{"type": "string"},
		})
	}
	for _, p := range r.query {
		kind := object{"type": "string"}
		if p.name == "limit" {
			kind = object{"type": "integer", "minimum": 1, "maximum": mostOf}
		}
		params = append(params, object{
			"name": p.name, "in": "query", "description": p.means, "schema": kind,
		})
	}
	if r.method == "GET" {
		params = append(params, object{
			"name": "If-None-Match", "in": "header", "schema": object{"type": "string"},
			"description": "ETag of what the asker has: 304 where nothing changed",
		})
	}
	if r.method == "POST" {
		params = append(params, object{
			"name": "Idempotency-Key", "in": "header", "schema": object{"type": "string", "maxLength": 200},
			"description": "the same request with the same key gets the same reply for a day",
		})
	}
	replies := object{}
	for _, status := range append([]int{}, orOK(r.status)...) {
		one := object{"description": r.does}
		media := r.media
		if media == "" && r.reply != nil {
			media = "application/json"
			one["content"] = object{media: object{"schema": s.of(r.reply)}}
		} else if media != "" {
			one["content"] = object{media: object{"schema": object{"type": "string", "format": "binary"}}}
		}
		if r.method == "GET" {
			one["headers"] = object{"ETag": header("changes with the reply")}
		}
		if status == 201 {
			one["headers"] = object{"Location": header("where the order is")}
		}
		replies[strconv.Itoa(status)] = one
	}
	if r.method == "GET" {
		replies["304"] = object{"description": "what the asker has is what there is"}
	}
	for _, status := range statusesOf(r) {
		replies[strconv.Itoa(status)] = object{"$ref": "#/components/responses/Refused"}
	}
	replies["default"] = object{"$ref": "#/components/responses/Refused"}
	op := object{"operationId": r.name, "summary": r.does, "responses": replies}
	if len(params) > 0 {
		op["parameters"] = params
	}
	if r.body != nil {
		op["requestBody"] = object{
			"required": true, "content": object{"application/json": object{"schema": s.of(r.body)}},
		}
	}
	if r.scope != "" {
		op["security"] = []any{object{"token": []any{string(r.scope)}}}
	}
	return op
}

func orOK(list []int) []int {
	if list == nil {
		return []int{http.StatusOK}
	}
	return list
}

func describe(t *testing.T) []byte {
	s := &schemas{t, object{}}
	paths := map[string]object{}
	for i := range routes {
		r := &routes[i]
		if paths[r.path] == nil {
			paths[r.path] = object{}
		}
		paths[r.path][strings.ToLower(r.method)] = operation(r, s)
	}
	problem := s.of(Problem{})
	doc := object{
		"openapi": "3.1.0",
		"info": object{
			"title": "Instruments, due work, visits, certificates, standards and work orders", "version": "1",
			"description": "Within version 1 fields and addresses are added and never taken away or given another meaning. " +
				"Replies may have fields that are not here yet; a body may not.",
			"license": object{"name": "see LICENSE of the program", "identifier": "LicenseRef-program"},
		},
		"servers":  []any{object{"url": "/api/v1"}},
		"security": []any{object{"token": []any{}}},
		"paths":    paths,
		"components": object{
			"schemas": s.all,
			"responses": object{"Refused": object{
				"description": "why it is refused (RFC 9457); code is stable, field names what is wrong",
				"content":     object{problemType: object{"schema": problem}},
			}},
			"securitySchemes": object{"token": object{
				"type": "http", "scheme": "bearer",
				"description": "a token that an administrator made, with its scopes",
			}},
		},
	}
	b, err := json.MarshalIndent(doc, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return append(b, '\n')
}

// TestDescription checks openapi.json against the route table, and against OpenAPI 3.1 with an
// independent library. go generate writes it.
func TestDescription(t *testing.T) {
	b := describe(t)
	if *writeDescription {
		if err := os.WriteFile("openapi.json", b, 0o644); err != nil {
			t.Fatal(err)
		}
		Description = b
	}
	if !bytes.Equal(b, Description) {
		t.Error("openapi.json is not what the route table says; run go generate ./server/machine")
	}
	loader := openapi3.NewLoader()
	doc, err := loader.LoadFromData(b)
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(loader.Context); err != nil {
		t.Error(err)
	}
	if doc.OpenAPI != "3.1.0" || doc.Paths.Len() < 12 {
		t.Errorf("%s with %d paths", doc.OpenAPI, doc.Paths.Len())
	}
	doc.Paths.Find("/visits").Get.Parameters[0].Value.Name = "" // 4.8.12: REQUIRED
	if err := doc.Validate(loader.Context); err == nil {
		t.Error("a parameter without a name is valid")
	}
}
