"""Parts of the shipped orders of work; ``stillbore.job.shipped`` puts them together."""
