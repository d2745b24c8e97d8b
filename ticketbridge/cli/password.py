"""``ticketbridge password``: a line for the file of those who sign in."""

import click


@click.command("password")
@click.argument("user")
@click.password_option(help="Asked for where it is not given; best not given, as others may see commands.")
def password(user: str, password: str) -> None:
    """Print the line of USER for the file that `jmf.passwords` names: the name and a hash, never the password."""
    from ticketbridge.daemon.http.passwords import hash_of

    if ":" in user or not user.strip():
        raise click.ClickException("A user's name is not empty and has no colon; HTTP Basic ends it there.")
    click.echo(f"{user}:{hash_of(password)}")
