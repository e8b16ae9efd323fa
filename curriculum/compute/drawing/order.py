"""Which state is drawn where an account records several: the first of these that it has.

Rule (ours): structures come before their absence (a ring that may be lost is drawn, its loss is said), common grown
forms before young and odd ones, plain surfaces before rough ones. It says nothing of how often a state is met.
"""

ORDER: dict[str, tuple[str, ...]] = {
    "form": (
        "honeycomb", "brain", "cap_and_stem", "fan", "bracket", "trumpet", "cup", "ear", "branched", "rosette", "beard",
        "club", "ball", "egg",
    ),
    "cap_shape": (
        "kidney", "shell", "tongue", "fan", "ear", "pointed", "boss", "funnel", "trumpet", "conical", "cylindrical",
        "cushion", "convex", "depressed", "flat", "bell", "hemispherical", "egg", "ball", "lobed", "rosette",
        "pitted", "folded",
    ),
    "cap_margin": (
        "wavy", "overhanging", "shaggy", "grooved", "lined", "inrolled", "lobed", "smooth", "thin", "veil_scraps",
        "splitting",
    ),
    "cap_lines": ("grooved", "lined", "none"),
    "cap_fringe": ("shaggy", "none", "veil_scraps"),
    "cap_surface": (
        "spiny", "honeycomb", "warts", "smooth", "dry", "silky", "leathery", "velvety", "downy", "fibrous", "shaggy",
        "scaly", "bumpy", "cracked", "patches", "wrinkled", "zoned", "powdery", "slimy", "sticky", "greasy",
        "jelly_skin", "two_toned",
    ),
    "underside": ("gills", "folds", "pores", "spines", "smooth", "none", "hidden"),
    "pores": ("separate_tubes", "small_round", "large_angular", "maze"),
    "gill_edge": ("blunt", "jelly_thread", "sharp"),
    "gill_attachment": ("sharp_line", "running_down", "free", "notched", "nearly_free", "slightly_down", "broad"),
    "gill_spacing": ("close", "medium", "crowded", "distant"),
    "gill_forking": ("cross_veined", "forked", "unforked"),
    "stem": ("present", "stub", "absent"),
    "stem_position": ("central", "off_centre", "side"),
    "stem_shape": ("barrel", "tapering_down", "even", "club", "curved"),
    "stem_surface": (
        "net", "dots", "woolly_base", "smooth", "silky", "fibrous", "powdery", "velvety", "scaly", "bands", "zigzag",
        "shaggy", "ridged", "pitted",
    ),
    "stem_inside": ("hollow", "chambered", "stuffed", "solid"),
    "ring": ("movable", "hanging", "narrow", "cobweb", "traces", "absent"),
    "stem_base": ("bag", "rimmed_bulb", "warty_bulb", "rooting", "joined", "plain", "swollen", "pointed"),
    "volva": ("bag", "collar", "warts", "none"),
    "cut_section": (
        "even_spongy_base", "button_outline", "marbled", "even", "cap_and_stem", "chambers", "hollow", "thin_sheet",
        "layers", "dark_powder",
    ),
    "skin": ("thick_rind", "thin"),
    "flesh_thickness": ("thick", "medium", "thin", "see_through"),
    "growth": (
        "tuft", "tiered", "ring", "troop", "scattered", "single", "carpet", "stand", "clump", "thicket", "climbing",
        "belt", "turf", "floating",
    ),
    "substrate": (
        "wood_soil", "grass_soil", "broadleaf_deadwood", "conifer_deadwood", "living_tree", "buried_wood",
        "woodchip", "disturbed_soil", "wet_soil", "dung", "rock", "stones", "weed_stalks", "shells", "sand", "mud",
        "structures",
    ),
    "leaf_arrangement": (
        "sheathed_pair", "separate_from_ground", "opposite", "alternate", "whorled", "spiral", "rosette", "tufted",
        "scattered_upright", "none",
    ),
    "leaf_shape": (
        "heart_tip", "kidney", "cylinder", "scale", "arrow_base", "heart_base", "elliptic", "oval", "lance",
        "triangular", "diamond", "wedge", "round", "strap", "linear", "spoon", "fan", "jagged",
    ),
    "leaf_base": ("lobes_back", "heart", "uneven", "sheathing", "narrowed", "rounded"),
    "leaf_margin": (
        "saw_toothed", "blunt_toothed", "coarsely_toothed", "finely_toothed", "spiny", "cut", "lobed", "wavy",
        "rolled", "plain",
    ),
    "leaf_veins": ("arched", "margin_vein", "parallel", "net", "one_midrib", "not_seen"),
    "leaf_hairs": ("stinging", "bristly", "hairy", "downy", "none", "few"),
    "leaf_marks": ("none", "dark_spots", "pale_marks"),
    "leaf_shine": ("glossy", "dull", "bloom", "mealy"),
    "leaflet_number": ("seven", "five", "three", "nine", "eleven_or_more", "many"),
    "leaf_stalk": ("sheath", "winged", "triangular", "channelled", "long", "short", "hollow", "none"),
    "stipules": ("leafy", "papery_sheath", "small", "none"),
    "stem_section": ("jointed", "square", "ridged", "angled", "flat", "round", "none"),
    "plant_stem_inside": ("chambered", "hollow", "white_pith", "yellow_pith", "brown_pith", "solid", "woody"),
    "plant_stem_surface": (
        "hair_line", "fleshy", "stinging", "bristly", "hairy", "downy", "pores", "corky", "peeling",
        "waxy", "smooth_bark", "smooth",
    ),
    "inflorescence": (
        "dandelion_head", "spathe", "compound_umbel", "umbel", "flat_head", "one_sided_raceme", "raceme", "panicle",
        "spike", "catkins", "daisy_head", "single", "cluster", "axils", "none",
    ),
    "petals": (
        "hooded", "split_five", "joined_bell", "joined_tube", "pea", "six", "five", "four", "three", "many", "tiny",
        "none",
    ),
    "fruit": (
        "pome", "follicles", "bursting_capsule", "burr", "corky_cluster", "stone_fruit", "berry", "capsule", "pod",
        "dry_winged", "dry_ribbed", "hip", "compound_berry", "open_cup", "cone", "seed_with_down", "nut", "nutlet",
    ),
    "fruit_position": ("bare_spike", "hanging", "upright", "spread"),
    "underground": (
        "stock", "bulb", "corm", "finger_tubers", "chambered", "taproot", "tuber", "rhizome", "runners", "woody",
        "fibrous",
    ),
    "bracts": ("divided", "many", "few", "none"),
    "bracteoles": ("long_hanging", "many", "few", "none"),
    "climbing_by": ("tendrils", "twining", "rootlets", "scrambling", "none"),
    "frond_form": (
        "hand", "belt", "fingers", "ribbon_with_wings", "straps", "forked_fan", "flat_forked", "channelled_fan",
        "flat_opposite", "feather", "bushy", "tube", "branched_tube", "cords", "sheet",
    ),
    "branching": (
        "from_margin", "palmate", "forked", "opposite", "pinnate", "alternate", "irregular", "lobed", "unbranched",
    ),
    "frond_margin": (
        "saw_toothed", "leaflets", "spines", "hair_tufts", "frilled", "wavy", "torn", "inrolled", "smooth",
    ),
    "frond_section": ("channelled", "hollow", "round", "flattened", "flat"),
    "frond_thickness": ("cylinder", "thick", "thin", "film"),
    "midrib": ("distinct", "dimpled_band", "faint", "none"),
    "bladders": ("paired", "single", "whole_tube", "none"),
    "stipe": ("with_leaflets", "button", "long_rough", "long_smooth", "short", "minute", "none"),
    "holdfast": ("claws", "button", "disc", "runners", "threads"),
}  # fmt: skip

YOUNG: dict[str, tuple[str, ...]] = {
    "cap_shape": ("egg", "hemispherical", "bell", "conical", "convex", "tongue", "ear", "ball"),
    "cap_margin": ("inrolled", "veil_scraps", "smooth"),
    "form": ("egg",),
    "underside": ("hidden",),
    "frond_margin": ("hair_tufts", "smooth"),
    "branching": ("forked", "unbranched"),
}  # fmt: skip
