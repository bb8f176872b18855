"""Cars, jobs, findings and verdicts kept in a database: frozen records outside, SQL inside."""
