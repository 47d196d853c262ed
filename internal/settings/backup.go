package settings

import "unicode"

// Backup is where copies of the records go. All of it is bench settings.
type Backup struct {
	Folder string `toml:"folder" comment:"Folder of the copies of the records, best on another disk or card; empty = backups, beside the records."`
	Keep   int    `toml:"keep" comment:"Copies kept, the oldest go first; 0 = all (bench setting)."`
}

func defaultBackup() Backup { return Backup{Keep: 30} }

func (s *Settings) backupRules() []rule {
	shown := true
	for _, r := range s.Backup.Folder {
		shown = shown && unicode.IsPrint(r)
	}
	return []rule{
		{"backup.folder", shown, "the folder's name holds a character that cannot be shown", "take it out"},
		within("backup.keep", s.Backup.Keep, 0, 10_000),
	}
}
