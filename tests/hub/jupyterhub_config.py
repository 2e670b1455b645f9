"""The course on a JupyterHub: first what a school keeps, then what only the load script wants.

The hub's own settings only; the load script (`python -m tests.benchmarks.load_hub`) starts a hub
with this file and gives folder, ports and password in the environment.
"""

import os
from pathlib import Path

c = get_config()  # type: ignore[name-defined]  # noqa: F821 (the hub's own function)

# ------------------------------------------------------------------ what a school keeps
# As the trainee: bring the trainee's copy of the course up to date (a lesson that was changed is
# left alone), then become the trainee's server, whatever came of that.
c.Spawner.cmd = [
    "sh",
    "-c",
    'sealkit lab --unpack-only --trainee "$HOME/sealkit-course"; exec jupyterhub-singleuser "$@"',
    "sh",
]
c.Spawner.notebook_dir = "~/sealkit-course"
c.Spawner.default_url = "/lab/tree/notebooks/00-the-whole-joint.ipynb"
# one thread for linear algebra: the trainees share the cores
c.Spawner.environment = {"OPENBLAS_NUM_THREADS": "1"}
# What one trainee gets and may take. The hub only hands these on: spawners for containers and for
# systemd hold a trainee to them, those for plain local processes do not.
c.Spawner.mem_guarantee = "400M"
c.Spawner.mem_limit = "1G"
# a whole class comes at once
c.Spawner.start_timeout = 300
c.Spawner.http_timeout = 300

# ------------------------------------------------------------------ for the load script only
# One password for all, all trainees one user of the machine, reached from this machine only.
# NOT for a class: no trainee is kept from another. A school puts its own logins and spawner here.
folder = Path(os.environ["SEALKIT_HUB_FOLDER"])
public, proxy, inner = os.environ["SEALKIT_HUB_PORTS"].split()
c.JupyterHub.authenticator_class = "shared-password"
c.SharedPasswordAuthenticator.user_password = os.environ["SEALKIT_HUB_PASSWORD"]
c.Authenticator.allow_all = True
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = str(folder / "{username}")
c.Spawner.environment["SEALKIT_HUB_RUN"] = os.environ["SEALKIT_HUB_RUN"]
if os.geteuid() == 0:
    c.Spawner.args = ["--allow-root"]
c.JupyterHub.bind_url = f"http://127.0.0.1:{public}"
c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{inner}"
c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{proxy}"
c.JupyterHub.db_url = f"sqlite:///{folder / 'hub.sqlite'}"
c.JupyterHub.cookie_secret_file = str(folder / "cookie-secret")
