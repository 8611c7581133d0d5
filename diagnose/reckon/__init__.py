"""The physics, a module a subject. Pure functions; the unit ends each name.

| module | what it answers |
|---|---|
| `result` | the shape of every answer: value, limits, verdict, how sure, working |
| `quantity` | ranges: refuses numbers that cannot be |
| `conductor` | ohms of a cable from size, metal and temperature |
| `circuit` | drop and power of every lead and joint, the total against its target, the cable that meets it |
| `network` | how the current shares out when there is a second way home |
| `joint` | one joint: resistance, heat, spot temperature, against cable, neighbours and the clamp standard |
| `localise` | several drops along the circuit: which joint is out |
| `duty` | how long at which current, machine and cable; welding on after a stop |
| `arc` | load lines, volts left at the arc, stubbing or burning back |
| `melting` | feed against current, and which transfer that gives |
| `gas` | flow: units, meter, nozzle, window, wind |
| `cylinder` | what a cylinder holds, and what leaks away |
| `supply` | primary current, wire and fuse sizes, volts at the machine |
| `phases` | three line voltages read together |
| `evidence` | from a reading to the two likelihoods that the ranking uses |
"""
