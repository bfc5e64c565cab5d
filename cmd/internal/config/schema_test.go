package config_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
)

const (
	schemaFile  = "../../../deploy/site.schema.json"
	exampleFile = "../../../deploy/site.yaml"
)

func TestSchemaIsCurrent(t *testing.T) {
	want, err := config.Schema()
	require.NoError(t, err)
	if *update {
		require.NoError(t, os.WriteFile(schemaFile, want, 0o644))
	}
	assert.Equal(t, string(want), string(read(t, schemaFile)), "run go test ./cmd/internal/config -update")
}

// compile loads the schema as an editor would.
func compile(t *testing.T) *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(read(t, schemaFile)))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("site.schema.json", doc))
	s, err := c.Compile("site.schema.json")
	require.NoError(t, err)
	return s
}

// instance reads YAML into what a JSON Schema validator takes.
func instance(t *testing.T, data []byte) any {
	text, err := yaml.YAMLToJSON(data)
	require.NoError(t, err)
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	return v
}

func TestSchemaTakesGoodFiles(t *testing.T) {
	schema := compile(t)
	for _, file := range append(goodFiles(t), exampleFile) {
		assert.NoError(t, schema.Validate(instance(t, read(t, file))), file)
	}
}

// What a schema can check, it refuses too; the rest compares two values, or
// is not YAML.
func TestSchemaRefusesBrokenFiles(t *testing.T) {
	schema := compile(t)
	checkable := []string{
		"unit-missing", "unit-missing-volume", "unit-of-other-dimension", "unit-unknown", "unit-case", "unit-ppm",
		"decimal-comma", "key-unknown-near", "key-unknown-far", "key-unknown-top", "key-missing",
		"key-missing-section", "value-missing", "type-list-for-map", "type-text-for-number",
		"type-quoted-number", "type-number-for-text", "type-fraction-of-a-plant", "type-date",
		"calibration-one-point", "id-and-ids", "id-missing", "impossible-latitude", "retention-n",
		"retention-without-conductivity", "retention-alpha-plain", "media-two-ways", "media-no-way",
		"wick-two-ways", "tube-two-ways", "tube-no-way", "shape-two-ways", "shape-unknown",
		"mqtt-two-ways", "notify-without-address", "notify-priority", "alert-unknown", "many", "yaml-list",
	}
	for _, name := range checkable {
		data := read(t, filepath.Join("testdata/faults", name+".yaml"))
		assert.Error(t, schema.Validate(instance(t, data)), name)
	}
}

func TestExampleNamesItsSchema(t *testing.T) {
	first, _, _ := strings.Cut(string(read(t, exampleFile)), "\n")
	assert.Equal(t, "# yaml-language-server: $schema=site.schema.json", first)
	assert.FileExists(t, filepath.Join(filepath.Dir(exampleFile), "site.schema.json"))
}

func goodFiles(t testing.TB) []string {
	files, err := filepath.Glob("testdata/good*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}
