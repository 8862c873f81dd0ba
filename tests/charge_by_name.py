"""Charge and head group of a substance as its declared name says them: cation and acid stand in it.

Names follow the nomenclature of cosmetic ingredients, in which a salt is called by its cation and its acid, a
quaternary ammonium by its ending, an ethoxylate by -eth or PEG, an alcohol by -ol. What no name says is left out.
"""

import re
from collections.abc import Mapping

CATION = r"(?:Sodium|Disodium|Potassium|Ammonium|Magnesium) "
#: Acyl and alkyl chains of ten carbon atoms and more.
CHAIN = r"(?:Methyl )?(?:Laur|Lauro|Coco|Coc|Cet|Stear|Stearo|Myrist|Ole|Oleo|Palm|Tallow|Oliv|Behen|C\d+-\d+ )[\w ]*?"

#: Endings of names, in order: the first that fits says charge, head group, soap, ion and electrolyte.
ENDINGS = (
    (r"Polyquaternium-\d+|(?:Hydroxypropyl )?Guar Hydroxypropyltrimonium Chloride",
     ("cationic polymer", "quaternary ammonium")),
    (r"\w*(?:trimonium|dimonium|alkonium)(?: Chloride| Methosulfate)|\w+ Dimonium Chloride",
     ("cationic", "quaternary ammonium")),
    (r"\w+(?:[ -]\w*)?sultaine", ("zwitterionic", "quaternary and sulfonate")),
    (r"\w+[ -]Betaine", ("zwitterionic", "quaternary and carboxylate")),
    (r"\w+ine Oxide", ("amphoteric", "amine oxide")),
    (rf"{CATION}\w+ampho(?:di)?acetate", ("amphoteric", "amine and carboxylate")),
    (rf"{CATION}{CHAIN}Sulfosuccinate", ("anionic", "sulfonate and carboxylate")),
    (rf"{CATION}{CHAIN}(?:Isethionate|Sulfoacetate|Taurate|Sulfonate)", ("anionic", "sulfonate")),
    (rf"{CATION}{CHAIN}[ -]?Sulfate", ("anionic", "sulfate")),
    (rf"{CATION}{CHAIN}Phosphate", ("anionic", "phosphate")),
    (rf"{CATION}{CHAIN}(?:Sarcosinate|Lactylate|Glutamate|Glycinate)", ("anionic", "carboxylate")),
    (r"(?:Sodium|Potassium) (?:Laur|Stear|Ole|Coco|Palm|Palm Kernel|Tallow|Oliv)(?:ate|e?late|kernelate)",
     ("anionic", "carboxylate", "yes")),
    (r"Polysorbate \d+", ("nonionic", "ester of ethoxylated sorbitan")),
    (r"PEG-\d+ (?:Stearate|Glyceryl Cocoate|Hydrogenated Castor Oil)|\w+ Oil PEG-\d+ Esters",
     ("nonionic", "ethoxylated ester")),
    (r"(?:Sorbitan|Cetearyl|Glyceryl|Propylene Glycol|Glycol) (?:\w*stearate|\w*oleate|Laurate|Palmitate|Olivate)",
     ("nonionic", "ester")),
    (r"(?:Sucrose|Polyglyceryl-\d+) (?:Stearate|Laurate|Oleate)", ("nonionic", "ester, no ethylene oxide")),
    (r"(?:Stear|Ceteare?|Cet|Laur|Ole)eth-\d+|(?:Stear|Cetear|Cet|Laur|Ol)eth-\d+", ("nonionic", "ether")),
    (r"[\w/-]+ ?-?Glucoside", ("nonionic", "glycoside")),
    (r"(?:Cetyl|Cetearyl|Stearyl|Behenyl|Myristyl|Lauryl|Coconut) Alcohol", ("nonionic", "alcohol")),
    (r"(?:Stearic|Palmitic|Lauric|Myristic) Acid", ("nonionic", "carboxylic acid", "with alkali")),
    (r"\w+ol|\w+ Glycol|Glycerin|Benzyl Alcohol|Tocopheryl Acetate|(?:Hydroxy\w+|Microcrystalline )cellulose",
     ("nonionic", "")),
    (r"[A-Z]\w+paraben", ("nonionic", "phenol")),
    (r"[\w ]+ Starch", ("nonionic", "polysaccharide")),
    (r"[\w ]+ Octenylsuccinate", ("anionic", "carboxylate")),
    (r"\w+amidopropyl Dimethylamine", ("cationic", "amine")),
    (r"(?:Sodium|Potassium) (?:Lactate|Glycolate|Gluconate|Citrate|PCA)", ("salt", "carboxylate", "", "", "strong")),
    (r"Calcium (?:Lactate|Gluconate|Citrate)", ("salt", "carboxylate", "", "Ca", "strong")),
    (r"Magnesium Ascorbyl Phosphate", ("salt", "phosphate", "", "Mg", "strong")),
    (r"(?:Sodium|Potassium) Chloride", ("salt", "chloride", "", "", "strong")),
    (r"Sodium Sulfate", ("salt", "sulfate", "", "", "strong")),
    (r"Magnesium Chloride", ("salt", "chloride", "", "Mg", "strong")),
    (r"Calcium Chloride", ("salt", "chloride", "", "Ca", "strong")),
    (r"Zinc Chloride", ("salt", "chloride", "", "Zn", "strong")),
    (r"Magnesium Sulfate", ("salt", "sulfate", "", "Mg", "strong")),
    (r"Zinc Sulfate", ("salt", "sulfate", "", "Zn", "strong")),
    (r"(?:Sodium|Potassium) Hydroxide", ("salt", "base", "", "", "strong")),
    (r"Sodium (?:Bi)?[Cc]arbonate", ("salt", "carbonate", "", "", "strong")),
)  # fmt: skip
COLUMNS = ("charge", "head group", "soap", "ion", "electrolyte")


def by_name(inci: str) -> Mapping[str, str] | None:
    """What the name says, by column of charge.csv; None where it says nothing."""
    for ending, told in ENDINGS:
        if re.fullmatch(ending, inci, re.IGNORECASE):
            return dict(zip(COLUMNS, (*told, *[""] * (len(COLUMNS) - len(told))), strict=True))
    return None
