using Hotlight.Workflows.People;

namespace Hotlight.Web.People;

/// <summary>What somebody must be allowed to do to get at an endpoint or a page of a department. What bears neither this nor <see cref="OpenToAttribute"/> is there for nobody.</summary>
/// <param name="operation">What is done there.</param>
[AttributeUsage(AttributeTargets.Class)]
public sealed class NeedsAttribute(Operation operation) : Attribute
{
    /// <summary>What is done there.</summary>
    public Operation Operation { get; } = operation;
}

/// <summary>Opens an endpoint or a page of a department to those who have no role, or none yet.</summary>
/// <param name="scope">To whom.</param>
[AttributeUsage(AttributeTargets.Class)]
public sealed class OpenToAttribute(OpenScope scope) : Attribute
{
    /// <summary>To whom it is open.</summary>
    public OpenScope Scope { get; } = scope;
}

/// <summary>Who gets at something without a role.</summary>
public enum OpenScope
{
    /// <summary>Everybody, without a session too: nothing of a case, a person or a setting is in it.</summary>
    Anyone,

    /// <summary>Who gave a password, and must set up the second factor before anything else.</summary>
    FirstFactor,

    /// <summary>Everybody who is signed in: the live connection, which looks at each page itself.</summary>
    SignedIn,

    /// <summary>Programs of this machine that send the word of <c>--web-token-file</c>; the endpoint asks for it.</summary>
    LocalProgram,
}
