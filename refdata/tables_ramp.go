//go:build ramp

package refdata

import "embed"

// The program that every phone loads leaves out the tables that only the office asks for.
//
//go:embed data/authority.csv data/carrying_priors.csv data/carrying_shares.csv data/chemical_freezing.csv data/craft_classes.csv
//go:embed data/detection.csv data/detection_priors.csv data/drives.csv data/dry_rules.csv data/drying_dose.csv data/drying_evidence.csv
//go:embed data/drying_sets.csv data/fuel.csv data/gear.csv data/heat_evidence.csv data/heat_profiles.csv data/loads.csv data/materials.csv
//go:embed data/organisms.csv data/places.csv data/removal.csv data/residual_models.csv data/residual_water.csv data/round_cautions.csv
//go:embed data/safety.csv data/scald.csv data/seals.csv data/sources.csv data/spaces.csv data/stages.csv data/wash_tables.csv
var dataFS embed.FS

const partial = true

// version of all tables, those left out as well; the linker sets it (internal/wasmbuild).
var version string
