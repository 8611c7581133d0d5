"""The physics, a module a subject. Pure functions; the unit ends each name.

| module | what it answers |
|---|---|
| `result` | the shape of every answer: value, limits, verdict, how sure, working |
| `quantity` | ranges: refuses numbers that cannot be |
| `conductor` | ohms of a cable from size, metal and temperature |
| `circuit` | drop and power of every part, the total, the cable that meets the target |
| `network` | how the current shares out when there is a second way home |
| `joint` | one joint: ohms, heat, spot temperature, and what it is held against |
| `contradiction` | readings along one circuit that cannot all be true |
| `localise` | several drops along the circuit: which joint is out |
| `duty` | how long at which current, machine and cable; welding on after a stop |
| `arc` | load lines, volts left at the arc, stubbing or burning back |
| `melting` | feed against current |
| `transfer` | short circuit, globular or spray |
| `gas` | units, density, what a float meter shows, the regime in the nozzle |
| `flow` | flow against its window, the wind, and the meter upstream |
| `cylinder` | what a cylinder holds, and what leaks away |
| `wiring` | primary current on the plate, conductor and fuse sizes |
| `supply` | volts at the machine behind its cord, protective conductor |
| `phases` | three line voltages read together |
| `evidence` | from a reading to the two likelihoods that the ranking uses |
"""
