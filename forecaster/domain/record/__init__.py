"""What was sprayed: the job, what a record of it must hold, and what comes after."""
