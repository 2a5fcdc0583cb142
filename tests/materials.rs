//! The material library against published values; every number with its source.

use quenchway::file::library;
use quenchway::file::{Described, Status};
use quenchway::material::foam;
use quenchway::material::{Hazard, Kind, Material};
use quenchway::units::Celsius;

fn find(name: &str) -> Material {
    library::find(name).unwrap()
}

/// Melt densities at zero pressure, kg/m3: Tait fits in R. P. Danner, M. S. High, Handbook of Polymer Solution
/// Thermodynamics, 1993, as tabulated in the Python package polykin 0.8.0, worked out at these temperatures.
const MELTS: [(&str, f64, f64); 22] = [
    ("ldpe", 125.0, 795.07),
    ("ldpe", 130.0, 791.75),
    ("ldpe", 140.0, 785.34),
    ("ldpe", 150.0, 779.23),
    ("ldpe", 160.0, 773.40),
    ("ldpe", 175.0, 765.16),
    ("ldpe", 180.0, 762.54),
    ("ldpe", 190.0, 757.50),
    ("lldpe", 150.0, 775.98),
    ("lldpe", 160.0, 769.28),
    ("lldpe", 175.0, 759.53),
    ("lldpe", 190.0, 750.12),
    ("lldpe", 200.0, 744.03),
    ("hdpe", 150.0, 783.46),
    ("hdpe", 160.0, 777.50),
    ("hdpe", 175.0, 768.48),
    ("hdpe", 180.0, 765.46),
    ("hdpe", 190.0, 759.38),
    ("pp", 175.0, 762.56),
    ("pp", 190.0, 755.94),
    ("pp", 200.0, 751.48),
    ("pp", 220.0, 742.47),
];

#[test]
fn polyolefin_melts_have_their_published_density() {
    for (name, t, density) in MELTS {
        let found = find(name).density.at(Celsius(t));
        // Straight lines between points 25 K apart under a curve of 1.6e-9 m3/(kg K2), or 30 K and 0.8e-9, and four digits:
        // 0.02 percent.
        assert!((found / density - 1.0).abs() < 2e-4, "{name} at {t} degC: {found}, {density} expected");
    }
}

/// Lowest and highest published value at 20 degC of conductivity, heat capacity and density, and where they are from.
const AT_20: [(&str, [[f64; 2]; 3], &str); 18] = [
    (
        "pvc-insulation",
        [[0.14, 0.20], [1000.0, 1674.0], [1200.0, 1500.0]],
        "k: DIN EN 12524:2000, IEC 60287-2-1; c_p and rho: DIN EN 12524:2000, IEC 60287-1-1:2006 as tabulated publicly",
    ),
    ("pvc-jacket", [[0.14, 0.20], [1000.0, 1674.0], [1200.0, 1500.0]], "the same"),
    (
        "pvc-rigid",
        [[0.16, 0.17], [900.0, 952.0], [1390.0, 1400.0]],
        "DIN EN 12524:2000; Crawford, Plastics Engineering, Table 1.8; c_p also Chang 1977 at 25 degC",
    ),
    (
        "ldpe",
        [[0.286, 0.36], [1900.0, 2300.0], [910.0, 930.0]],
        "k: IEC 60287-2-1, data sheets; c_p: data sheets; rho: DIN EN 12524:2000 with 1 percent",
    ),
    (
        "lldpe",
        [[0.286, 0.50], [1800.0, 2301.0], [910.0, 940.0]],
        "k and c_p: between LDPE and HDPE in DIN EN 12524:2000 and IEC 60287; rho: a public table of polyethylenes",
    ),
    (
        "hdpe",
        [[0.286, 0.53], [1800.0, 2700.0], [940.0, 980.0]],
        "k: IEC 60287-2-1, a producer of thermal analysers; c_p the same; rho: the same, DIN EN 12524:2000",
    ),
    (
        "xlpe",
        [[0.286, 0.36], [1900.0, 2301.0], [910.0, 950.0]],
        "IEC 60287-2-1 and 60287-1-1:2006 as tabulated publicly for XLPE; LDPE data sheets",
    ),
    // Bounds of a foam of half gas: nothing conducts better than layers side by side, or worse than layers in series.
    ("pe-foam", [[0.048, 0.178], [1900.0, 2300.0], [455.0, 465.0]], "rule of mixtures with LDPE above"),
    (
        "pp",
        [[0.20, 0.22], [1680.0, 2000.0], [900.0, 915.0]],
        "DIN EN 12524:2000; Crawford, Table 1.8; Martienssen & Warlimont 2005, Table 3.3-6; public data on rho",
    ),
    (
        "tpu",
        [[0.20, 0.25], [1450.0, 1800.0], [1100.0, 1250.0]],
        "a producer, DIN 52612 and DIN 51005; DIN EN 12524:2000; Netzsch polymer table",
    ),
    (
        "hffr",
        [[0.4, 0.8], [1500.0, 1750.0], [1400.0, 1600.0]],
        "mixture rules with filler and polymer of the range in its file; quoted values from memory, not checked",
    ),
    (
        "pa6",
        [[0.22, 0.33], [1590.0, 1700.0], [1120.0, 1150.0]],
        "Netzsch polymer table; polyamide 66 in Crawford, Table 1.8, lies inside",
    ),
    (
        "fep",
        [[0.19, 0.26], [1000.0, 1200.0], [2120.0, 2170.0]],
        "k and c_p: polytetrafluoroethylene, Martienssen & Warlimont 2005, and FEP from memory; rho: DIN 53479 in a table",
    ),
    ("copper", [[380.0, 401.0], [380.0, 385.0], [8890.0, 8960.0]], "DIN EN 12524:2000; NIST-JANAF; handbooks"),
    ("copper-tinned", [[380.0, 401.0], [378.0, 385.0], [8880.0, 8960.0]], "copper and a little tin"),
    ("aluminium", [[220.0, 240.0], [880.0, 900.0], [2700.0, 2705.0]], "handbooks; DIN EN 12524:2000; NIST-JANAF"),
    ("steel", [[50.0, 52.0], [440.0, 452.0], [7800.0, 7872.0]], "DIN EN 12524:2000; public data sheets of SAE 1010"),
    ("glass-fibre", [[1.0, 1.3], [763.0, 810.0], [2550.0, 2600.0]], "E-glass: summaries of two makers of glass fibres"),
];

#[test]
fn values_at_20_degc_lie_within_the_published_spread() {
    for (name, spreads, source) in AT_20 {
        let material = find(name);
        let curves = [&material.conductivity, &material.heat_capacity, &material.density];
        for (property, (curve, [low, high])) in curves.iter().zip(spreads).enumerate() {
            let value = curve.at(Celsius(20.0));
            assert!((low..=high).contains(&value), "{name}, property {property}: {value}, {low} to {high} ({source})");
        }
    }
    assert_eq!(AT_20.len(), library::names().len(), "a material without published values to compare with");
}

#[test]
fn volumetric_heat_capacities_agree_with_the_cable_standards() {
    // IEC 60853-2 and standard cable tables, as reproduced on a public page. The metals are measured to a percent; for
    // PVC the standard has one value for every compound.
    for (name, expected, within) in [
        ("pvc-insulation", 1.7e6, 0.1),
        ("pvc-jacket", 1.7e6, 0.1),
        ("copper", 3.45e6, 0.01),
        ("aluminium", 2.42e6, 0.01),
    ] {
        let material = find(name);
        let found = material.density.at(Celsius(20.0)) * material.heat_capacity.at(Celsius(20.0));
        assert!((found / expected - 1.0f64).abs() < within, "{name}: {found:.3e}, {expected:.3e} expected");
    }
}

#[test]
fn volumetric_heat_capacities_of_polyethylene_lie_between_the_standards() {
    // At 20 degC, from the lowest published value to the highest: 980 kg/m3 times 1800 J/(kg K) in DIN EN 12524:2000, and
    // 2.4e6 J/(m3 K) in IEC 60853-2, which has one value for every polyethylene.
    for name in ["ldpe", "hdpe"] {
        let material = find(name);
        let found = material.density.at(Celsius(20.0)) * material.heat_capacity.at(Celsius(20.0));
        assert!((980.0 * 1800.0..=2.4e6).contains(&found), "{name}: {found:.3e}");
    }
}

/// First and last point of each peak, degC, its heat, J/kg, and the lowest and highest published heat, J/kg.
type Peak = (&'static str, [f64; 2], f64, [f64; 2], &'static str);
const PEAKS: [Peak; 10] = [
    ("ldpe", [85.0, 105.0], 125e3, [110e3, 140e3], "typical DSC, from memory"),
    ("lldpe", [99.0, 115.0], 120e3, [100e3, 140e3], "typical DSC, from memory"),
    ("hdpe", [109.5, 123.5], 190e3, [180e3, 201e3], "typical DSC, from memory; 201 measured, Netzsch polymer table"),
    ("xlpe", [85.0, 105.0], 120e3, [95e3, 140e3], "typical DSC of XLPE and LDPE, from memory"),
    ("pe-foam", [85.0, 105.0], 125e3, [110e3, 140e3], "as LDPE"),
    ("pp", [102.0, 122.0], 95e3, [90e3, 112e3], "94 and 112 measured, Netzsch polymer table; 90, from memory"),
    ("tpu", [100.0, 140.0], 8e3, [3e3, 15e3], "Netzsch polymer table"),
    ("hffr", [40.0, 80.0], 20e3, [16e3, 30e3], "0.4 of 40 to 75: EVA from memory, and Netzsch polymer table"),
    (
        "pa6",
        [170.0, 194.0],
        60e3,
        [50e3, 95e3],
        "from memory; half of the perfect crystal's 190, Netzsch polymer table",
    ),
    ("fep", [223.0, 247.0], 24e3, [24e3, 37e3], "30 to 45 percent of 82: see fep.toml"),
];

#[test]
fn every_peak_holds_its_heat_of_crystallisation() {
    for (name, ends, heat, [low, high], source) in PEAKS {
        let curve = find(name).heat_capacity;
        let [start, end] = ends.map(Celsius);
        let sensible = 0.5 * (curve.at(start) + curve.at(end)) * (end.0 - start.0);
        let found = curve.integral(start, end) - sensible;
        // Whole numbers of J/(kg K) over some ten kelvin: a thousandth of the smallest heat.
        assert!((found / heat - 1.0).abs() < 1e-3, "{name}: {found} J/kg above the base line");
        assert!((0.999 * low..=high).contains(&found), "{name}: {found}, {low} to {high} published ({source})");
    }
    // No other material has a point that both its neighbours lie far below.
    for Described { material, .. } in library::entries() {
        let peak = |three: &[[f64; 2]]| three[1][1] > 1.1 * three[0][1].max(three[2][1]);
        let has = material.heat_capacity.points().windows(3).any(peak);
        assert_eq!(has, PEAKS.iter().any(|row| row.0 == material.name), "{}", material.name);
    }
}

/// Heat given off from the middle of the melt range to 23 degC: solid and melt between the lowest and highest published
/// heat capacity of each, J/(kg K), and the heat of the peak as above.
const HEATS: [(&str, [f64; 2], [f64; 2], &str); 10] = [
    (
        "pvc-insulation",
        [1000.0, 1674.0],
        [1400.0, 1674.0],
        "DIN EN 12524:2000 flexible PVC; IEC 60287-1-1:2006; makeitfrom",
    ),
    (
        "pvc-rigid",
        [900.0, 1069.0],
        [1400.0, 1600.0],
        "DIN EN 12524:2000, Alford & Dole 1955; van Krevelen, from memory",
    ),
    ("ldpe", [1900.0, 3000.0], [2480.0, 2770.0], "data sheets, 3000 near melting; Gaur & Wunderlich 1981, from memory"),
    ("lldpe", [1800.0, 3000.0], [2480.0, 2770.0], "DIN EN 12524:2000; the same"),
    ("hdpe", [1800.0, 2700.0], [2480.0, 2770.0], "DIN EN 12524:2000, Netzsch polymer table; the same"),
    ("xlpe", [1900.0, 3000.0], [2480.0, 2770.0], "as LDPE"),
    ("pp", [1680.0, 2350.0], [2400.0, 2900.0], "Martienssen & Warlimont 2005, Table 3.3-6; melt from memory"),
    ("tpu", [1450.0, 1900.0], [1800.0, 2300.0], "a producer, DIN 51005; melt from memory"),
    ("pa6", [1590.0, 2400.0], [2500.0, 2800.0], "Netzsch polymer table; melt from memory"),
    (
        "fep",
        [1000.0, 1230.0],
        [1200.0, 1500.0],
        "polytetrafluoroethylene, Martienssen & Warlimont 2005; melt from memory",
    ),
];

#[test]
fn heats_from_the_melt_to_the_cold_lie_within_what_is_published() {
    const COLD: f64 = 23.0;
    for (name, solid, melt, source) in HEATS {
        let material = find(name);
        let [low, high] = material.melt.unwrap().map(|end| end.0);
        let hot = (low + high) / 2.0;
        let peak = PEAKS.iter().find(|row| row.0 == name);
        // PVC softens at its set temperature and gives off no latent heat.
        let (turn, latent) =
            peak.map_or((material.set_temperature.unwrap().0, [0.0; 2]), |row| ((row.1[0] + row.1[1]) / 2.0, row.3));
        let bound = |i: usize| solid[i] * (turn - COLD) + melt[i] * (hot - turn) + latent[i];
        let found = material.heat_capacity.integral(Celsius(COLD), Celsius(hot));
        assert!((bound(0)..=bound(1)).contains(&found), "{name}: {found}, {} to {} ({source})", bound(0), bound(1));
    }
}

/// S. S. Chang, J. Res. NBS 82 (1977) 9-18, abstract: c_p = 10 + 0.166 T J/(mol K) with 62.498 g/mol, 80 to 340 K.
#[test]
fn rigid_pvc_holds_the_measured_heat_below_its_glass_transition() {
    let (cold, warm) = (296.15f64, 340.0f64);
    let measured = (10.0 * (warm - cold) + 0.083 * (warm * warm - cold * cold)) / 0.062498;
    let found = find("pvc-rigid").heat_capacity.integral(Celsius(23.0), Celsius(340.0 - 273.15));
    // The source is good to 1 percent; rounding to whole J/(kg K) takes a twentieth of that.
    assert!((found / measured - 1.0).abs() < 1e-3, "{found}, {measured} measured");
}

#[test]
fn densities_at_23_degc_are_those_that_products_are_sold_by() {
    // Published at 20 degC or without a temperature; 3 K move them by 0.3 percent at most.
    for (name, density, source) in [
        ("ldpe", 920.0, "DIN EN 12524:2000"),
        ("hdpe", 950.0, "IEC 60287-1-1:2006 as tabulated publicly"),
        ("pp", 905.0, "Crawford, Plastics Engineering, Table 1.8"),
        ("pvc-rigid", 1390.0, "DIN EN 12524:2000"),
        ("pa6", 1135.0, "1120 to 1150, Netzsch polymer table"),
        ("fep", 2145.0, "2120 to 2170, DIN 53479 in a table of fluoroplastics"),
        ("copper", 8933.0, "M. Kutz, Mechanical Engineers' Handbook, vol. 4, Table 1"),
        ("aluminium", 2702.0, "the same"),
        ("steel", 7870.0, "public data sheet of SAE 1010"),
    ] {
        let found = find(name).density.at(Celsius(23.0));
        assert!((found / density - 1.0).abs() < 0.006, "{name}: {found}, {density} expected ({source})");
    }
}

#[test]
fn the_foam_of_the_library_is_ldpe_foamed_to_half() {
    let (foam, ldpe) = (find("pe-foam"), find("ldpe"));
    let computed = foam::foamed(&ldpe, 460.0).unwrap();
    for t in [0.0, 20.0, 50.0, 90.0, 105.0, 150.0, 200.0] {
        let t = Celsius(t);
        // The file has four digits of the conductivity and five of the density.
        assert!((foam.conductivity.at(t) / computed.conductivity.at(t) - 1.0).abs() < 1e-3, "{t:?}");
        assert!((foam.density.at(t) / computed.density.at(t) - 1.0).abs() < 1e-4, "{t:?}");
        assert_eq!(foam.heat_capacity.at(t), computed.heat_capacity.at(t), "{t:?}");
    }
    // Gas takes no heat: by volume the foam holds half of what the solid holds.
    let by_volume = |material: &Material| material.density.at(Celsius(20.0)) * material.heat_capacity.at(Celsius(20.0));
    assert!((by_volume(&foam) / by_volume(&ldpe) - 0.5).abs() < 1e-6);
}

#[test]
fn polyethylenes_conduct_less_as_they_warm() {
    for name in ["ldpe", "lldpe", "hdpe", "xlpe"] {
        let values: Vec<f64> = find(name).conductivity.points().iter().map(|point| point[1]).collect();
        assert!(values.windows(2).all(|pair| pair[1] <= pair[0]) && values[0] > 1.2 * values[values.len() - 1]);
    }
}

#[test]
fn every_material_gets_lighter_as_it_warms() {
    for described in library::entries() {
        let points = described.material.density.points();
        let falls = points.windows(2).all(|pair| pair[1][1] < pair[0][1]);
        assert!(points.len() > 1 && falls, "{}: a shrink of nothing or of the wrong sign", described.material.name);
    }
}

#[test]
fn ranges_cover_a_line_from_the_die_to_cold_water() {
    for Described { material, .. } in library::entries() {
        let (name, [low, high], plastic) = (&material.name, material.range, material.kind == Kind::Plastic);
        assert!(low.0 <= 5.0 && high.0 >= 200.0, "{name}");
        assert_eq!((material.set_temperature.is_some(), material.melt.is_some()), (plastic, plastic), "{name}");
        if let (Some(set), Some(melt)) = (material.set_temperature, material.melt) {
            assert!(set.0 + 20.0 < melt[0].0 && melt[1].0 <= high.0, "{name}: set, melt and range in this order");
        }
        assert_eq!(material.hazards.contains(&Hazard::HydrogenChloride), name.starts_with("pvc"), "{name}");
    }
    for (name, hazard) in [("fep", Hazard::Fluoride), ("hffr", Hazard::Hydrate), ("xlpe", Hazard::Peroxide)] {
        assert_eq!(find(name).hazards, [hazard], "{name}");
    }
}

#[test]
fn every_number_has_a_source_a_status_and_a_doubt() {
    for Described { material, describes, sources } in library::entries() {
        let name = &material.name;
        assert!(describes.len() > 15, "{name}");
        let plastic = ["conductivity", "heat_capacity", "density", "set_temperature", "melt", "uncertainty"];
        let metal = ["conductivity", "heat_capacity", "density", "uncertainty"];
        let expected = if material.kind == Kind::Metal { &metal[..] } else { &plastic[..] };
        let named: Vec<&str> = sources.iter().map(|source| source.property).collect();
        assert_eq!(named, expected, "{name}");
        for source in sources {
            let place = format!("{name}.{}", source.property);
            assert!(!source.source.is_empty() && !source.doubt.is_empty(), "{place}");
            // Nothing counts as read that says of itself that it was not.
            let recalled = source.source.contains("from memory") || source.source.contains("common practice");
            assert!(
                !(recalled && source.status == Status::Read && !source.source.contains("and year from memory")),
                "{place}"
            );
        }
        // Of the usual size: nothing is known to better than half a percent or worse than a fifth.
        let known = material.uncertainty;
        for part in [known.conductivity, known.heat_capacity, known.density] {
            assert!((0.005..=0.2).contains(&part), "{name}: {known:?}");
        }
    }
}

/// The files say "status" themselves: a source without one would count as quoted from memory.
#[test]
fn every_source_in_the_files_is_followed_by_its_status() {
    let files = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../solver/materials")).unwrap();
    let mut count = 0;
    for file in files {
        let path = file.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        for pair in lines.windows(2).filter(|pair| pair[0].starts_with("source = ")) {
            assert!(pair[1].starts_with("status = "), "{}: {}", path.display(), pair[0]);
        }
        count += 1;
    }
    assert_eq!(count, library::names().len(), "a file that the library does not have");
}
