from django.apps import AppConfig


class BoardConfig(AppConfig):
    name = "board"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Let rooms hear what the record enters; a lower room knows no upper one."""
        from django.contrib.auth.signals import user_logged_out  # noqa: PLC0415

        from board.checks.actions import after_entry  # noqa: PLC0415  # apps come first
        from board.daybook.actions import listen  # noqa: PLC0415  # apps come first
        from board.light_table.actions import after_laid  # noqa: PLC0415
        from board.viewing.actions import announce, hang_up  # noqa: PLC0415

        listen(after_laid)
        listen(after_entry)
        listen(announce)
        user_logged_out.connect(hang_up, dispatch_uid="board.viewing.hang_up")
