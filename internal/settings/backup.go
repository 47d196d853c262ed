package settings

// Backup is where copies of the records go. All of it is bench settings.
type Backup struct {
	Folder string `toml:"folder" comment:"Folder of the copies of the records, best on another disk or card; empty = backups, beside the records."`
	Keep   int    `toml:"keep" comment:"Copies kept, the oldest go first; 0 = all (bench setting)."`
}

func defaultBackup() Backup { return Backup{Keep: 30} }

func (s *Settings) backupRules() []rule {
	return []rule{
		shown("backup.folder", s.Backup.Folder, false),
		within("backup.keep", s.Backup.Keep, 0, 10_000),
	}
}
