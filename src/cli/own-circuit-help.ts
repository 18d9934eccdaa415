/** What `stagefit stages own-circuit` teaches. */
export const OWN_CIRCUIT_HELP = `own-circuit: a netlist of your own
  For a stage that is not in the list. The socket has its netlist in the open
  SPICE syntax, and measures as formulas over it:

    { "id": "V1", "stage": "own-circuit", "tube": "ECC83",
      "circuit": [
        "VB b 0 250",
        "RA b p 100k",
        "X1 p g k TUBE",
        "RG g 0 1meg",
        "RK k 0 1.5k",
        "VIN in 0 0 AC 1",
        "CIN in g 22n"
      ],
      "measures": {
        "gain": { "formula": "gain(v(p), 1000)" },
        "current": { "formula": "i(RA)", "unit": "A", "title": "plate current" }
      },
      "limits": { "gain": "gain >= 0.7 * newTube.gain" } }

Elements
  R C L           name node node value; K couples two L
  V I             name node node [DC] value [AC size [phase]]
                  [SIN(offset size frequency)]
  E G F H         linear controlled sources
  D               with .model NAME D(IS=1e-12 N=1.5 …)
  X               the tubes, electrodes in this order:
                    plate cathode TUBE                        diode
                    plate grid cathode TUBE                   triode
                    plate screen grid cathode TUBE            pentode
                    plate screen signalGrid oscillatorGrid cathode TUBE
                  TUBE2 (or TUBE place=2) is the tube of the second place,
                  heater=node says where the heater is, if not at chassis.
  Node 0 is chassis. Names are letters, digits and "_", case does not matter.
  Values as SPICE has them: 470k, 1meg (never 1M), 10u, 22n.
  * begins a comment line, ; a comment behind an element, + continues a line.
Analyses
  The operating point is always there. .dc SOURCE start stop step sweeps a
  source, .tran step stop runs a transient of the SIN sources. A small signal
  has its frequency in the formula.
  Whatever else begins with a dot is refused, and B sources are: a circuit
  from somewhere else can compute, and reach no file and run no command.
Formulas
  v(p)  v(p, k)   voltage to chassis, between nodes
  i(RA)           current into an element's first node
  i(X1.plate)     into an electrode
  at(x, 3)        x where the swept source is 3
  slope(x, 3)     its slope there;  where(x, 5): where x is first 5
  max(x)  min(x)  over the sweep
  gain(x, 1000)   size of x under the AC sources;  phase(x, 1000): degrees
  mean(x)  swing(x)  fundamental(x)  thd(x)
                  of the last cycle of the transient: mean, crest to crest,
                  amplitude, percent
  + - * / ^, abs, sqrt, log10, exp, dB, min and max of several numbers, and
  the measures above it. "unit" says what the number is in: V, A, ohm, S, W,
  F, H, Hz, s, K, %, dB, ×, or nothing.
Other keys
  "watch": ["p"]            nodes whose volts are told
  "tolerances": {"RA": 5}   percent; a resistor without one has the value
                            resistorTolerance, 10 %
  "steady": ["VB"]          supplies that do not move with the line voltage;
                            all others against chassis do
  "values"                  lineVoltage, linePercent, heaterPercent,
                            resistorTolerance
  "fitted"                  the tubes of the places, in their order
Bounds: 300 lines, 120 elements, 60 nodes, 8 tubes, 20 measures, 401 points of
a sweep, 2000 steps of a transient; each run ends after 10 s.
There is no drawing: report and page show the netlist.
`;
