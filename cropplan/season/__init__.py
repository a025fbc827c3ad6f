"""The season plan: how many to strike of what, when, from which plants, into which places.

`demand` holds what the planner is told, `options` lists what could be done, `greedy` and
`programme` choose, `simulate` checks every choice on its own account, `places` finds each planting
a real place and `plan` says what may be expected and why some weeks stay thin.
"""
