package export

import _ "embed"

// SchemaText describes the JSON in the words of JSON Schema (draft 2020-12).
//
//go:embed campaign.schema.json
var SchemaText string
