package journal

import (
	"database/sql"
	"encoding/json"
	"fmt"

	"wickd/ingest"
)

// gapColumn writes gaps as JSON; NULL, which costs a byte, when there are none.
func gapColumn(gaps []ingest.Gap) any {
	if len(gaps) == 0 {
		return nil
	}
	rows := make([][2]int64, len(gaps))
	for i, g := range gaps {
		rows[i] = [2]int64{g.From.UnixNano(), g.To.UnixNano()}
	}
	text, err := json.Marshal(rows)
	if err != nil {
		return nil // numbers can always be written
	}
	return string(text)
}

func scanGaps(column sql.NullString) ([]ingest.Gap, error) {
	if !column.Valid {
		return nil, nil
	}
	var rows [][2]int64
	if err := json.Unmarshal([]byte(column.String), &rows); err != nil {
		return nil, fmt.Errorf("gaps %.40q: %w", column.String, err)
	}
	gaps := make([]ingest.Gap, len(rows))
	for i, r := range rows {
		gaps[i] = ingest.Gap{From: instant(r[0]), To: instant(r[1])}
	}
	return gaps, nil
}
