"""Readings as evidence: what a measured quantity speaks of.

How likely a reading is on a faulty and on a sound station is reckoned before the rules: it holds the
spread of good stations and what the meter may err, so a reading just past a limit convicts nobody. A
rule here says only what the quantity bears on. Where a check finds by hand what a meter reads, the
reading bears on that check's finding, so that the two count once.
"""

from __future__ import annotations

from knowledge.expert import MATCH, Conclude, P, RuleBook
from knowledge.vocabulary import Established, Measured, Mismatch, Raised, Reckoned, Shows, Suits

BOOK = RuleBook("readings")

SCALE = "station.gas.meter_scaled_for"
DUTY = "station.settings.duty_pct"
HOT_SUPPLY_PLUG_K = 30.0
WARM_SUPPLY_PLUG_K = 15.0
CURRENT_IN_EARTH_A = 10.0
SCALE_MATTERS = 0.10
GROSS_DUTY = 1.4


def _of(quantity: str) -> Measured:
    return Measured(
        quantity=quantity, if_fault=MATCH.if_fault, if_sound=MATCH.if_sound, item=MATCH.item
    )


@BOOK.rule(_of("work_clamp_ohm"), concludes=(Shows,))
def whole_work_clamp(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """The drop from the lead's lug to bright work is jaw, braid and lug of the clamp together."""
    conclude(Shows(node="work_joint_resistance_high", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("work_clamp_jaw_ohm"), concludes=(Shows,))
def jaws_on_the_work(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """The drop from jaw to work is that of the contact alone: spring, jaws and what they bite."""
    node = "drop_across_work_clamp:high_jaw_to_plate"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("work_clamp_inside_ohm"), concludes=(Shows,))
def inside_of_the_clamp(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """The drop from the lead's lug to the jaw is that of bolt, hinge and braid."""
    node = "drop_across_work_clamp:high_inside_clamp"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("work_plug_ohm"), concludes=(Shows,))
def drop_in_the_work_plug(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Volts lost between stud and plug make heat there, so this plug is the hot one too."""
    node = "feel_joints_after_weld:work_plug_hottest"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("electrode_plug_ohm"), concludes=(Shows,))
def drop_in_the_electrode_plug(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """Volts lost between stud and plug make heat there, so this plug is the hot one too."""
    node = "feel_joints_after_weld:electrode_plug_hottest"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("gun_socket_ohm"), concludes=(Shows,))
def drop_in_the_gun_socket(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Volts lost between the feeder's block and the gun's pin are lost in that contact."""
    node = "feel_joints_after_weld:gun_socket_hottest"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("work_lead_ohm"), concludes=(Shows,))
def drop_along_the_work_lead(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """The work lead is held against what its own length and size explain."""
    node = "drop_along_leads:work_lead_high"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("electrode_lead_ohm"), concludes=(Shows,))
def drop_along_the_electrode_lead(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """The electrode lead is held against what its own length and size explain."""
    node = "drop_along_leads:electrode_lead_high"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("work_side_ohm"), concludes=(Shows,))
def drop_on_the_work_side(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Over several parts of the way home the drop says that volts are lost, not in which of them."""
    conclude(Shows(node="circuit_volts_lost", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("electrode_side_ohm"), concludes=(Shows,))
def drop_on_the_electrode_side(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """Over several parts of the way out the drop says that volts are lost, not in which of them."""
    conclude(Shows(node="circuit_volts_lost", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("gun_ohm"), concludes=(Shows,))
def drop_along_the_gun(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """From pin to tip lie the gun's cable, its joints and the contact of wire and tip."""
    conclude(Shows(node="gun_conductor_contact_poor", on=if_fault, off=if_sound, item=item))
    on, off = if_fault**0.5, if_sound**0.5
    conclude(Shows(node="tip_contact_poor", on=on / (on + off), off=off / (on + off), item=item))


@BOOK.rule(_of("volts_lost_v"), concludes=(Shows,))
def volts_at_studs_against_arc(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """What stands at the studs and not at the arc is lost in leads and joints."""
    node = "arc_volts_at_studs_and_gun:volts_lost"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("volts_under_dial_v"), concludes=(Shows,))
def volts_at_studs_against_dial(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """What the dial asks for and the studs do not show is missing inside the source or its supply."""
    node = "arc_volts_at_studs_and_gun:low_at_the_studs"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("arc_volts_below_v"), concludes=(Shows,))
def arc_volts_under_their_middle(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """With too few volts at the arc for the feed the wire runs into the plate."""
    conclude(Shows(node="arc_voltage_low", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("arc_volts_above_v"), concludes=(Shows,))
def arc_volts_over_their_middle(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """With too many volts at the arc for the feed the arc grows long."""
    conclude(Shows(node="arc_long", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("open_circuit_missing_v"), concludes=(Shows,))
def volts_at_no_load(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Volts at no load tell whether the source answers at all; they do not prove the leads."""
    conclude(Shows(node="volts_at_studs:no_volts", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("open_circuit_over_usual"), concludes=(Shows,))
def volts_at_no_load_against_usual(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """Volts at no load far below what the set gives as a rule show that part of it does not work."""
    conclude(Shows(node="volts_at_studs:volts_low", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("phases_lost"), concludes=(Shows,))
def pattern_of_the_pairs(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """A phase lost under load leaves one pair full and two near half; three full pairs clear it."""
    node = "line_volts_under_load:one_full_two_half"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("no_line_v"), concludes=(Shows,))
def no_volts_on_any_pair(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """No volts on any pair means that no supply reaches the machine."""
    node = "line_volts_under_load:no_volts"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("supply_sag_share"), concludes=(Shows,))
def fall_of_the_supply(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """What the supply falls from idle to load is lost in cord, contacts or generator."""
    conclude(Shows(node="line_volts_under_load:sags", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("nozzle_flow_missing_l_min"), concludes=(Shows,))
def gas_comes_out_or_not(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Only a flow read at the nozzle tells whether any gas gets there."""
    conclude(Shows(node="gas_absent", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("nozzle_flow_low_l_min"), concludes=(Shows,))
def flow_at_the_nozzle(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """The flow at the nozzle is what covers the pool, whatever took the rest of it."""
    conclude(Shows(node="gas_flow_low", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("nozzle_flow_high_l_min"), concludes=(Shows,))
def flow_at_the_nozzle_may_tumble(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """More gas than the nozzle can lay down quietly tumbles and pulls air in."""
    conclude(Shows(node="flow_set_high", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("meter_flow_low_l_min"), concludes=(Shows,))
def flow_at_the_meter(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """The meter shows what is set, not what arrives."""
    conclude(Shows(node="flow_set_low", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("meter_flow_high_l_min"), concludes=(Shows,))
def flow_at_the_meter_may_tumble(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """More gas is set than this nozzle can lay down quietly."""
    conclude(Shows(node="flow_set_high", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("nozzle_over_meter_flow"), concludes=(Shows,))
def flow_lost_on_the_way(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Gas that passes the meter and does not reach the nozzle leaks out or is held up between."""
    node = "flow_at_nozzle:low_meter_reads_right"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("cylinder_pressure_kpa"), concludes=(Shows,))
def pressure_in_the_cylinder(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """Compressed gas is nearly used up where the gauge stands near the end of its scale."""
    conclude(Shows(node="read_cylinder_gauge:empty", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("clamp_rise_k"), concludes=(Shows,))
def clamp_above_its_cable(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Heat is made where volts are lost, so a jaw above its cable is losing volts."""
    node = "feel_joints_after_weld:clamp_hot_cable_cool"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("clamp_lug_rise_k"), concludes=(Shows,))
def clamp_lug_above_its_cable(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """A lug above its cable is losing volts at its bolt or crimp."""
    node = "feel_joints_after_weld:clamp_lug_hottest"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("work_plug_rise_k"), concludes=(Shows,))
def work_plug_above_its_cable(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """A plug above its cable is losing volts in its contact."""
    node = "feel_joints_after_weld:work_plug_hottest"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("electrode_plug_rise_k"), concludes=(Shows,))
def electrode_plug_above_its_cable(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """A plug above its cable is losing volts in its contact."""
    node = "feel_joints_after_weld:electrode_plug_hottest"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("gun_socket_rise_k"), concludes=(Shows,))
def gun_socket_above_its_cable(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """A gun socket above its cable is losing volts in its contact."""
    node = "feel_joints_after_weld:gun_socket_hottest"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("supply_plug_rise_k"), concludes=(Shows,))
def supply_plug_is_warm(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """A supply plug that warms has a contact that does not carry its current."""
    conclude(Shows(node="supply_joint_heats", on=if_fault, off=if_sound, item=item))


@BOOK.rule(
    Measured(quantity="supply_plug_rise_k", value=P(lambda rise: rise > HOT_SUPPLY_PLUG_K)),
    concludes=(Raised,),
)
def supply_plug_is_hot(conclude: Conclude) -> None:
    """A supply plug far above its surroundings can burn or arc before anything trips."""
    conclude(Raised(card="hot_supply_plug", sure="yes"))


@BOOK.rule(
    Measured(
        quantity="supply_plug_rise_k",
        value=P(lambda rise: WARM_SUPPLY_PLUG_K < rise <= HOT_SUPPLY_PLUG_K),
    ),
    concludes=(Raised,),
)
def supply_plug_may_be_too_warm(conclude: Conclude) -> None:
    """A supply plug clearly warmer than its cord wants a look by an electrician before more load."""
    conclude(Raised(card="hot_supply_plug", sure="perhaps"))


@BOOK.rule(_of("feed_slower_than_dial"), concludes=(Shows,))
def feed_by_the_watch(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Wire that comes slower than the dial says drags, slips or has a weak motor."""
    node = "measure_ten_seconds_of_wire:slower"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("feed_faster_than_dial"), concludes=(Shows,))
def feed_races(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Wire that comes faster than the dial says is not under control."""
    node = "measure_ten_seconds_of_wire:faster"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("current_over_balance"), concludes=(Shows,))
def amperes_for_the_feed(conclude: Conclude, if_fault: float, if_sound: float, item: str) -> None:
    """Fewer amperes than the feed asks for mean a long stick-out or wire that melts otherwise."""
    conclude(Shows(node="arc_current_low", on=if_fault, off=if_sound, item=item))


@BOOK.rule(_of("earth_wire_a"), concludes=(Shows,))
def amperes_in_the_earth_wire(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """An earth wire carries no weld current unless the weld circuit is tied to earth somewhere."""
    node = "stray_current_round_earth:current_in_earth_wire"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(
    Measured(quantity="earth_wire_a", value=P(lambda amperes: amperes > CURRENT_IN_EARTH_A)),
    concludes=(Raised,),
)
def earth_wire_carries_weld_current(conclude: Conclude) -> None:
    """Weld current in the earth wire burns it away, and with it what keeps the case safe."""
    conclude(Raised(card="stray_return", sure="yes"))


@BOOK.rule(_of("current_away_share"), concludes=(Shows,))
def amperes_that_do_not_come_home(
    conclude: Conclude, if_fault: float, if_sound: float, item: str
) -> None:
    """What goes out by the electrode lead and does not come home by the work lead strays."""
    node = "stray_current_round_earth:current_in_steel"
    conclude(Shows(node=node, on=if_fault, off=if_sound, item=item))


@BOOK.rule(
    Measured(quantity="current_away_share", value=P(lambda share: share > 0.20)),
    concludes=(Raised,),
)
def much_current_strays(conclude: Conclude) -> None:
    """More than a fifth of the current goes home by something that was not made for it."""
    conclude(Raised(card="stray_return", sure="perhaps"))


@BOOK.rule(
    Reckoned(
        quantity="gas_meter_factor",
        value=P(lambda factor: abs(factor - 1.0) > SCALE_MATTERS) & MATCH.factor,
    ),
    concludes=(Mismatch, Shows, Established),
)
def meter_is_scaled_for_another_gas(conclude: Conclude, factor: float) -> None:
    """The scale of the flow meter is for a gas of another density than the one that flows."""
    conclude(Mismatch(what="meter_scale", needs="a scale for this gas", has=f"x {factor:.2f}"))
    conclude(Shows(node="meter_wrong_scale", on=0.92, off=0.04, item=SCALE))
    conclude(Established(fault="meter_wrong_scale", item=SCALE))


@BOOK.rule(
    Reckoned(
        quantity="gas_meter_factor", value=P(lambda factor: abs(factor - 1.0) <= SCALE_MATTERS)
    ),
    concludes=(Suits, Shows),
)
def meter_is_scaled_for_this_gas(conclude: Conclude) -> None:
    """The scale of the flow meter is for this gas or one of nearly its density."""
    conclude(Suits(what="meter_scale", has="this gas"))
    conclude(Shows(node="meter_wrong_scale", on=0.08, off=0.96, item=SCALE))


@BOOK.rule(
    Reckoned(
        quantity="duty_used_over_allowed",
        value=P(lambda share: 1.0 < share <= GROSS_DUTY),
    ),
    concludes=(Shows,),
)
def duty_is_at_its_limit(conclude: Conclude) -> None:
    """A little more duty is asked than the plate allows; a cool shop often bears it."""
    conclude(Shows(node="duty_exceeded", on=0.25, off=0.14, item=DUTY))


@BOOK.rule(
    Reckoned(
        quantity="duty_used_over_allowed", value=P(lambda share: share > GROSS_DUTY) & MATCH.share
    ),
    concludes=(Mismatch, Shows, Established),
)
def duty_is_far_over_its_limit(conclude: Conclude, share: float) -> None:
    """Far more duty is asked than the plate allows at this current."""
    conclude(Mismatch(what="duty", needs="what the plate allows", has=f"{share:.1f} times that"))
    conclude(Shows(node="duty_exceeded", on=0.65, off=0.05, item=DUTY))
    conclude(Established(fault="duty_exceeded", item=DUTY))


@BOOK.rule(
    Reckoned(quantity="duty_used_over_allowed", value=P(lambda share: share <= 1.0)),
    concludes=(Suits, Shows),
)
def duty_is_within_its_limit(conclude: Conclude) -> None:
    """The plate allows the duty that is asked; heat and blocked air can still stop the set."""
    conclude(Suits(what="duty", has="within the plate"))
    conclude(Shows(node="duty_exceeded", on=0.10, off=0.81, item=DUTY))
