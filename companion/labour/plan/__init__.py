"""When the job can be finished, over the shop's working hours, and in which order.

It offers `project_of` (a procedure as a project), `planner` (the plan), `plan_advice` (what to know of it),
`finish` (when it ends by chance), `critical_path`, `away` (work sent out), and the plan as a chart: `gantt`
and `gantt_page`.
"""
