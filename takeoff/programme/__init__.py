"""Order of work in days: who does what when, with waiting times and deliveries. See DEVELOPERS.md."""
