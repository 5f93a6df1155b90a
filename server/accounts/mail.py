"""Mail a one-time link, where a mail server is set; otherwise the administrator hands it on."""

import logging
import smtplib
import ssl
from email.message import EmailMessage

from server.accounts.actions import INVITATION
from server.settings import Settings

TIMEOUT_S = 15
LOG = logging.getLogger("skidbook.mail")


def can_mail(settings: Settings) -> bool:
    """Whether there is a mail server and an address to write from."""
    return bool(settings.smtp_host and settings.smtp_from)


def link_message(settings: Settings, *, to: str, name: str, address: str, purpose: str) -> EmailMessage:
    """The letter with a link."""
    message = EmailMessage()
    message["From"], message["To"] = settings.smtp_from, to
    invited = purpose == INVITATION
    message["Subject"] = "Your way into Skidbook" if invited else "A new password for Skidbook"
    first = "You were invited to a Skidbook logbook." if invited else "A new password for Skidbook was asked for."
    until = "7 days" if invited else "2 hours"
    message.set_content(
        f"Hello {' '.join(name.split())},\n\n{first} Choose a password here:\n\n{address}\n\n"
        f"The address works once, within {until}. If you did not expect this, leave it alone.\n"
    )
    return message


def mail_link(settings: Settings, *, to: str, name: str, address: str, purpose: str) -> bool:
    """Send a link; False, with a line in the log, when the mail server does not take it."""
    try:
        message = link_message(settings, to=to, name=name, address=address, purpose=purpose)
        context = ssl.create_default_context()
        if settings.smtp_security == "tls":
            server: smtplib.SMTP = smtplib.SMTP_SSL(
                settings.smtp_host, settings.smtp_port, timeout=TIMEOUT_S, context=context
            )
        else:
            server = smtplib.SMTP(settings.smtp_host, settings.smtp_port, timeout=TIMEOUT_S)
        with server:
            if settings.smtp_security == "starttls":
                server.starttls(context=context)
            if settings.smtp_user:
                server.login(settings.smtp_user, settings.smtp_password.get_secret_value())
            server.send_message(message)
    except (OSError, smtplib.SMTPException, ValueError) as error:
        LOG.warning("the mail server did not take a letter: %s", type(error).__name__)
        return False
    return True
