package units

// table holds every unit: its factor to SI as a constant expression, which the compiler rounds
// once, and the same as a fraction of whole numbers for exact comparison. Column units without a
// temperature are conventional (13595.1 and 1000 kg/m³, standard gravity); those with one rest on a
// rounded density: mercury 13557.4 at 60 °F and 13546.2 at 20 °C (the values of GNU units), water
// by Tanaka et al., Metrologia 38 (2001) 301-309.
var table = []Unit{
	{Name: "Pa", Kind: Pressure, Factor: 1, num: "1", den: "1", UCUM: "Pa", Exact: true},
	{Name: "hPa", Kind: Pressure, Factor: 100, num: "100", den: "1", UCUM: "hPa", Exact: true},
	{Name: "kPa", Kind: Pressure, Factor: 1000, num: "1000", den: "1", UCUM: "kPa", Exact: true},
	{Name: "MPa", Kind: Pressure, Factor: 1e6, num: "1000000", den: "1", UCUM: "MPa", Exact: true},
	{Name: "mbar", Kind: Pressure, Factor: 100, num: "100", den: "1", UCUM: "mbar", Exact: true},
	{Name: "bar", Kind: Pressure, Factor: 1e5, num: "100000", den: "1", UCUM: "bar", Exact: true},
	{
		Name: "psi", Kind: Pressure, Factor: Pound * Gravity / (Inch * Inch), num: "8896443230521",
		den: "1290320000", UCUM: "[psi]", Exact: true, Spellings: []string{"lbf/in2", "PSI"},
	},
	{
		Name: "ksi", Kind: Pressure, Factor: 1000 * Pound * Gravity / (Inch * Inch), num: "8896443230521",
		den: "1290320", UCUM: "k[psi]", Exact: true,
	},
	{
		Name: "psf", Kind: Pressure, Factor: Pound * Gravity / (Foot * Foot), num: "8896443230521",
		den: "185806080000", UCUM: "[lbf_av]/[ft_i]2", Exact: true, Spellings: []string{"lbf/ft2"},
	},
	{
		Name: "kgf/cm2", Kind: Pressure, Factor: Gravity * 1e4, num: "196133", den: "2", UCUM: "kgf/cm2",
		Exact: true, Spellings: []string{"at", "kg/cm2"},
	},
	{Name: "kgf/mm2", Kind: Pressure, Factor: Gravity * 1e6, num: "9806650", den: "1", UCUM: "kgf/mm2", Exact: true},
	{
		Name: "tonf(US)/in2", Kind: Pressure, Factor: 2000 * Pound * Gravity / (Inch * Inch),
		num: "8896443230521", den: "645160", UCUM: "", Exact: true,
	},
	{
		Name: "tonf(UK)/in2", Kind: Pressure, Factor: 2240 * Pound * Gravity / (Inch * Inch),
		num: "62275102613647", den: "4032250", UCUM: "", Exact: true,
	},
	{Name: "atm", Kind: Pressure, Factor: StandardAtmosphere, num: "101325", den: "1", UCUM: "atm", Exact: true},
	{
		Name: "Torr", Kind: Pressure, Factor: StandardAtmosphere / 760, num: "20265", den: "152", UCUM: "",
		Exact: true, Spellings: []string{"torr"},
	},
	{
		Name: "mmHg", Kind: Pressure, Factor: 13595.1 * Gravity / 1000, num: "26664477483",
		den: "200000000", UCUM: "mm[Hg]", Exact: true,
	},
	{
		Name: "cmHg", Kind: Pressure, Factor: 13595.1 * Gravity / 100, num: "26664477483", den: "20000000",
		UCUM: "cm[Hg]", Exact: true,
	},
	{
		Name: "umHg", Kind: Pressure, Factor: 13595.1 * Gravity / 1e6, num: "26664477483",
		den: "200000000000", UCUM: "um[Hg]", Exact: true,
	},
	{
		Name: "inHg", Kind: Pressure, Factor: InchMercury, num: "3386388640341", den: "1000000000",
		UCUM: "[in_i'Hg]", Exact: true,
	},
	{
		Name: "inHg@60F", Kind: Pressure, Factor: 13557.4 * Gravity * Inch, num: "1688498994217", den: "500000000",
		UCUM: "",
	},
	{
		Name: "inHg@20C", Kind: Pressure, Factor: 13546.2 * Gravity * Inch, num: "1687104096321", den: "500000000",
		UCUM: "",
	},
	{
		Name: "mmHg@20C", Kind: Pressure, Factor: 13546.2 * Gravity / 1000, num: "13284284223", den: "100000000",
		UCUM: "",
	},
	{Name: "mmH2O", Kind: Pressure, Factor: Gravity, num: "196133", den: "20000", UCUM: "mm[H2O]", Exact: true},
	{Name: "cmH2O", Kind: Pressure, Factor: Gravity * 10, num: "196133", den: "2000", UCUM: "cm[H2O]", Exact: true},
	{Name: "mH2O", Kind: Pressure, Factor: Gravity * 1000, num: "196133", den: "20", UCUM: "m[H2O]", Exact: true},
	{
		Name: "inH2O", Kind: Pressure, Factor: 1000 * Gravity * Inch, num: "24908891", den: "100000",
		UCUM: "[in_i'H2O]", Exact: true,
	},
	{
		Name: "inH2O@4C", Kind: Pressure, Factor: 999.97495 * Gravity * Inch, num: "498165340645609",
		den: "2000000000000", UCUM: "",
	},
	{
		Name: "inH2O@20C", Kind: Pressure, Factor: 998.2067 * Gravity * Inch, num: "248642218857697",
		den: "1000000000000", UCUM: "",
	},
	{
		Name: "inH2O@60F", Kind: Pressure, Factor: 999.017 * Gravity * Inch, num: "24884405560147",
		den: "100000000000", UCUM: "",
	},
	{
		Name: "ftH2O", Kind: Pressure, Factor: 1000 * Gravity * Foot, num: "74726673", den: "25000", UCUM: "",
		Exact: true,
	},
	{
		Name: "dyn/cm2", Kind: Pressure, Factor: 0.1, num: "1", den: "10", UCUM: "dyn/cm2", Exact: true,
		Spellings: []string{"barye"},
	},
	{Name: "N/mm2", Kind: Pressure, Factor: 1e6, num: "1000000", den: "1", UCUM: "N/mm2", Exact: true},
	{Name: "N/m2", Kind: Pressure, Factor: 1, num: "1", den: "1", UCUM: "N/m2", Exact: true},
	{Name: "K", Kind: Temperature, Factor: 1, num: "1", den: "1", UCUM: "K", Exact: true},
	{
		Name: "degC", Kind: Temperature, Factor: 1, num: "1", den: "1", UCUM: "Cel", Exact: true,
		Shift: ZeroCelsius, shift: "273.15", Spellings: []string{"C"},
	},
	{
		Name: "degF", Kind: Temperature, Factor: 5.0 / 9, num: "5", den: "9", UCUM: "[degF]", Exact: true,
		Shift: 459.67, shift: "459.67", Spellings: []string{"F"},
	},
	{Name: "m", Kind: Length, Factor: 1, num: "1", den: "1", UCUM: "m", Exact: true},
	{Name: "mm", Kind: Length, Factor: 0.001, num: "1", den: "1000", UCUM: "mm", Exact: true},
	{Name: "cm", Kind: Length, Factor: 0.01, num: "1", den: "100", UCUM: "cm", Exact: true},
	{Name: "km", Kind: Length, Factor: 1000, num: "1000", den: "1", UCUM: "km", Exact: true},
	{Name: "in", Kind: Length, Factor: Inch, num: "127", den: "5000", UCUM: "[in_i]", Exact: true},
	{Name: "ft", Kind: Length, Factor: Foot, num: "381", den: "1250", UCUM: "[ft_i]", Exact: true},
	{Name: "m/s", Kind: Speed, Factor: 1, num: "1", den: "1", UCUM: "m/s", Exact: true},
	{Name: "km/h", Kind: Speed, Factor: 1000.0 / 3600, num: "5", den: "18", UCUM: "km/h", Exact: true},
	{Name: "mph", Kind: Speed, Factor: 1609.344 / 3600, num: "1397", den: "3125", UCUM: "[mi_i]/h", Exact: true},
	{
		Name: "kt", Kind: Speed, Factor: Knot, num: "463", den: "900", UCUM: "[kn_i]", Exact: true,
		Spellings: []string{"kn"},
	},
	{Name: "ft/min", Kind: Speed, Factor: Foot / 60, num: "127", den: "25000", UCUM: "[ft_i]/min", Exact: true},
	{Name: "m3", Kind: Volume, Factor: 1, num: "1", den: "1", UCUM: "m3", Exact: true},
	{
		Name: "L", Kind: Volume, Factor: 0.001, num: "1", den: "1000", UCUM: "L", Exact: true,
		Spellings: []string{"l", "dm3"},
	},
	{
		Name: "mL", Kind: Volume, Factor: 1e-6, num: "1", den: "1000000", UCUM: "mL", Exact: true,
		Spellings: []string{"ml", "cm3"},
	},
	{
		Name: "ft3", Kind: Volume, Factor: Foot * Foot * Foot, num: "55306341", den: "1953125000",
		UCUM: "[cft_i]", Exact: true,
	},
	{
		Name: "in3", Kind: Volume, Factor: Inch * Inch * Inch, num: "2048383", den: "125000000000",
		UCUM: "[cin_i]", Exact: true,
	},
	{Name: "kg", Kind: Mass, Factor: 1, num: "1", den: "1", UCUM: "kg", Exact: true},
	{Name: "g", Kind: Mass, Factor: 0.001, num: "1", den: "1000", UCUM: "g", Exact: true},
	{Name: "lb", Kind: Mass, Factor: Pound, num: "45359237", den: "100000000", UCUM: "[lb_av]", Exact: true},
	{Name: "s", Kind: Time, Factor: 1, num: "1", den: "1", UCUM: "s", Exact: true},
	{Name: "min", Kind: Time, Factor: 60, num: "60", den: "1", UCUM: "min", Exact: true},
	{Name: "h", Kind: Time, Factor: 3600, num: "3600", den: "1", UCUM: "h", Exact: true},
	{Name: "Pa.m3/s", Kind: Leak, Factor: 1, num: "1", den: "1", UCUM: "Pa.m3/s", Exact: true},
	{
		Name: "mbar.L/s", Kind: Leak, Factor: 0.1, num: "1", den: "10", UCUM: "mbar.L/s", Exact: true,
		Spellings: []string{"mbar.l/s"},
	},
	{
		Name: "Torr.L/s", Kind: Leak, Factor: StandardAtmosphere / 760 / 1000, num: "4053", den: "30400",
		UCUM: "", Exact: true,
	},
	{
		Name: "sccm@0C", Kind: Flow, Factor: StandardAtmosphere / 1e6 / 60 / (MolarGas * ZeroCelsius),
		num: "844375000000", den: "1135547732074278753", UCUM: "", Exact: true,
	},
	{
		Name: "sccm@20C", Kind: Flow,
		Factor: StandardAtmosphere / 1e6 / 60 / (MolarGas * (ZeroCelsius + 20)), num: "844375000000",
		den: "1218692358255811153", UCUM: "", Exact: true,
	},
	{
		Name: "sccm@25C", Kind: Flow,
		Factor: StandardAtmosphere / 1e6 / 60 / (MolarGas * (ZeroCelsius + 25)), num: "844375000000",
		den: "1239478514801194253", UCUM: "", Exact: true,
	},
	{Name: "mol/s", Kind: Flow, Factor: 1, num: "1", den: "1", UCUM: "mol/s", Exact: true},
	{Name: "mA", Kind: Current, Factor: 0.001, num: "1", den: "1000", UCUM: "mA", Exact: true},
	{Name: "A", Kind: Current, Factor: 1, num: "1", den: "1", UCUM: "A", Exact: true},
	{Name: "V", Kind: Voltage, Factor: 1, num: "1", den: "1", UCUM: "V", Exact: true},
	{Name: "mV", Kind: Voltage, Factor: 0.001, num: "1", den: "1000", UCUM: "mV", Exact: true},
	{Name: "%", Kind: Ratio, Factor: 0.01, num: "1", den: "100", UCUM: "%", Exact: true},
	{Name: "ppm", Kind: Ratio, Factor: 1e-6, num: "1", den: "1000000", UCUM: "[ppm]", Exact: true},
	{Name: "1", Kind: Ratio, Factor: 1, num: "1", den: "1", UCUM: "1", Exact: true},
}
