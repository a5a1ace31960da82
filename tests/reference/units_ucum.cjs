// Writes units_ucum.tsv: what the UCUM library of the US National Library of Medicine makes of
// every pair of units of a kind in src/quantity/table.rs.
//
// In a throw-away folder, with REPOSITORY the path of this repository:
//
//     npm install @lhncbc/ucum-lhc@7.1.10
//     NODE_PATH=node_modules node REPOSITORY/tests/reference/units_ucum.cjs \
//         > REPOSITORY/tests/reference/units_ucum.tsv

"use strict";

const version = require("@lhncbc/ucum-lhc/package.json").version;
const ucum = require("@lhncbc/ucum-lhc").UcumLhcUtils.getInstance();

// Our symbol, its code in UCUM. Gauge and absolute pressure have no codes: their marks change
// what a value is counted from, not its factor.
const pressure = { kPa: "kPa", bar: "bar", psi: "[psi]", "kgf/cm²": "kgf/cm2" };
const marked = (mark) =>
  Object.fromEntries(
    Object.entries(pressure).map(([symbol, code]) => [
      symbol === "psi" ? `psi${mark}` : `${symbol}(${mark})`,
      code,
    ]),
  );
const kinds = [
  {
    "N·m": "N.m", "kN·m": "kN.m", "cN·m": "cN.m", "ft·lbf": "[ft_i].[lbf_av]",
    "in·lbf": "[in_i].[lbf_av]", "ozf·in": "[in_i].[lbf_av]/16", "kgf·m": "kgf.m",
    "kgf·cm": "kgf.cm", "N·mm": "N.mm", "daN·m": "daN.m",
  },
  { mm: "mm", cm: "cm", m: "m", "µm": "um", in: "[in_i]", thou: "[mil_i]", ft: "[ft_i]" },
  { "mm²": "mm2", "cm²": "cm2", "in²": "[in_i]2", "ft²": "[ft_i]2" },
  {
    Pa: "Pa", MPa: "MPa", ...pressure, inHg: "[in_i'Hg]", mmHg: "mm[Hg]", inH2O: "[in_i'H2O]", mbar: "mbar",
  },
  marked("g"),
  marked("a"),
  {
    mL: "mL", L: "L", "cm³": "cm3", "US fl oz": "[foz_us]", "US pt": "[pt_us]",
    "in³": "[cin_i]", "imp qt": "[qt_br]", "US qt": "[qt_us]", "US gal": "[gal_us]", "imp gal": "[gal_br]", "imp pt": "[pt_br]", "imp fl oz": "[foz_br]",
  },
  { g: "g", kg: "kg", oz: "[oz_av]", lb: "[lb_av]" },
  { N: "N", kN: "kN", lbf: "[lbf_av]", kgf: "kgf" },
  { rpm: "circ/min", "rev/s": "circ/s" },
  {
    "m/s": "m/s", "km/h": "km/h", "ft/min": "[ft_i]/min", "ft/s": "[ft_i]/s", "mi/h": "[mi_i]/h",
  },
  { Hz: "Hz", kHz: "kHz" },
  { s: "s", ms: "ms", min: "min", h: "h", d: "d" },
  { K: "K", "°C": "Cel", "°F": "[degF]" },
  { "ΔK": "K", "Δ°C": "K", "Δ°F": "K.5/9" },
  { "°": "deg", turn: "circ" },
  { V: "V", mV: "mV", kV: "kV" },
  { A: "A", mA: "mA", kA: "kA" },
  { "Ω": "Ohm", "mΩ": "mOhm", "kΩ": "kOhm", "MΩ": "MOhm" },
  { W: "W", kW: "kW", hp: "[HP]", PS: "75.kgf.m/s" },
  {
    "L/min": "L/min", "mL/min": "mL/min", "L/h": "L/h", "US gal/min": "[gal_us]/min",
    "US gal/h": "[gal_us]/h", "imp gal/min": "[gal_br]/min", "imp gal/h": "[gal_br]/h",
  },
  { "V·A": "V.A", "kV·A": "kV.A" },
  { "N/mm": "N/mm", "lbf/in": "[lbf_av]/[in_i]" },
];

const value = 123.4567;
// The library works with floats; and its columns of mercury go by a rounded 133.322 kPa/m.
const within = (from, to) => ([from, to].some((symbol) => symbol.endsWith("Hg")) ? "5e-6" : "1e-13");

const lines = [
  "# What UCUM makes of every pair of units of a kind; tests/quantity_outside.rs compares.",
  `# Made by units_ucum.cjs with @lhncbc/ucum-lhc ${version}, node ${process.version};`,
  "# its head gives the commands. DIFFERENCE: UCUM rounds the column of mercury to 133.322 kPa/m.",
  "# Fields: value, unit, value there, unit there, part of it within which they have to agree.",
];
for (const kind of kinds) {
  for (const [from, code] of Object.entries(kind)) {
    for (const [to, codeThere] of Object.entries(kind)) {
      if (from === to) continue;
      const answer = ucum.convertUnitTo(code, value, codeThere);
      if (answer.status !== "succeeded") throw new Error(`${from} to ${to}: ${answer.msg}`);
      lines.push([value, from, answer.toVal, to, within(from, to)].join("\t"));
    }
  }
}
process.stdout.write(`${lines.join("\n")}\n`);
