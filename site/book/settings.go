package book

import "database/sql"

// Settings are the settings of the book: values as typed, by the name of the
// command-line flag.
func (b *Book) Settings() (map[string]string, error) {
	out := map[string]string{}
	err := b.read(func(tx *sql.Tx) error {
		rows, err := tx.Query(`SELECT name, value FROM settings`)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var name, value string
			if err := rows.Scan(&name, &value); err != nil {
				return err
			}
			out[name] = value
		}
		return rows.Err()
	})
	return out, err
}

// Set sets a setting; the value "" takes it out.
func (b *Book) Set(name, value string) error {
	return b.change("set "+name, func(tx *sql.Tx) error {
		if value == "" {
			_, err := tx.Exec(`DELETE FROM settings WHERE name = ?`, name)
			return err
		}
		_, err := tx.Exec(`INSERT INTO settings (name, value) VALUES (?1, ?2) ON CONFLICT (name) DO UPDATE SET value = ?2 WHERE value <> ?2`, name, value)
		return err
	})
}
