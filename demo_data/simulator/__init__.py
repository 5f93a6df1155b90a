"""A physical simulator of spiral-wound reverse-osmosis trains, independent of `analytics.physics`.

It marches element by element along each vessel, for all readings at once, and knows the truth that the method of
`analytics` has to find: water permeability, salt permeability and channel friction of every stage at every time.
Its closures (osmotic law, friction exponent, mass transfer, temperature slopes) are its own on purpose: where both
agree, they agree for a reason. Start with `demo_data.simulator.scenario.simulate`.

Water flows `water -> element -> train -> scenario`; `ageing`, `seasons`, `shifts`, `meters` and `mistakes` each add
one layer of a real plant's life.
"""
